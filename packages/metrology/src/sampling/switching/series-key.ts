/** What lots must share to be one series. Each judged characteristic has its own AQL and its own series. */
export type LotSeries =
  | { kind: "shipments"; maker: string; meterType: string; contract: string; characteristic: string }
  | {
      kind: "group";
      /** Identifier that a group in service keeps from year to year; a split or a merge names new ones. */
      lineage: string;
      characteristic: string;
    };

/**
 * Key of a series of lots: equal for lots whose results count together, different for all others.
 *
 * @param series maker, type and contract of shipments, or the lineage of a group, and the characteristic judged
 * @returns a text that can be stored and compared
 * @source MIL-STD-105E, 4.6.2: switching applies to each class of nonconformities on its own; what else makes a series is
 *   common practice, no source
 * @example seriesKey({ kind: "group", lineage: "G-7", characteristic: "full load" }) // '["group","G-7","full load"]'
 */
export function seriesKey(series: LotSeries): string {
  return series.kind === "shipments"
    ? JSON.stringify([series.kind, series.maker, series.meterType, series.contract, series.characteristic])
    : JSON.stringify([series.kind, series.lineage, series.characteristic]);
}
