/** What lots must share to be one series: those whose results count together for switching. */
export type LotSeriesParts =
  | { kind: "shipments"; maker: string; meterType: string; contract: string }
  | {
      kind: "group";
      /** What the group keeps from year to year. */
      group: string;
      /** Which of how many lots the group is split into; null when it is one. */
      part: { number: number; of: number } | null;
    };

/**
 * Key of the series that a lot belongs to, without the characteristic: each characteristic judged switches on its own.
 * A group that is split into another number of lots begins new series, which go on from the state of the old ones.
 *
 * @param parts maker, type and contract of shipments; or the group and the part of it
 * @returns a text that can be stored and compared
 * @source MIL-STD-105E, 4.6.2 on classes; what else makes a series is common practice, no source
 * @example lotSeries({ kind: "shipments", maker: "M", meterType: "T", contract: "C" }) // '["shipments","M","T","C"]'
 */
export function lotSeries(parts: LotSeriesParts): string {
  if (parts.kind === "shipments")
    return JSON.stringify([parts.kind, parts.maker, parts.meterType, parts.contract]);
  const { kind, group, part } = parts;
  return JSON.stringify(part === null ? [kind, group] : [kind, group, part.number, part.of]);
}
