import { groupedBy } from "../../grouped-by.ts";
import { requireWhole } from "../require-whole.ts";
import type { SamplingScheme } from "./sampling-scheme.ts";

/** Meters in service that are alike in everything that a scheme may tell groups apart by. */
export interface InventoryCell {
  typeId: string;
  /** Maker and model, as people read it. */
  type: string;
  form: string;
  technology: string;
  /** Year of purchase; null where it is not on record. */
  year: number | null;
  firmware: string;
  /** Area of the service point; null where the meter stands at none. */
  area: string | null;
  /** How many, whole, >= 1. */
  meters: number;
}

/** A group as the rules form it. */
export interface FormedGroup {
  /** What the group keeps from year to year. */
  key: string;
  title: string;
  size: number;
  standing: "formed" | "split" | "merged" | "too-small";
  /** Sizes of its lots; empty when it is too small for one. */
  lots: number[];
  cells: InventoryCell[];
  /** What stands together in it. */
  of: { title: string; size: number }[];
  /** Why it is split, merged or not sampled, a sentence; empty for one lot. */
  reason: string;
}

export interface FormedGroups {
  groups: FormedGroup[];
  leftOut: { reason: string; meters: number }[];
}

/**
 * Forms the groups in service from the inventory: by type, and as the scheme says by set of purchase years, firmware and
 * area. Groups above the greatest size are split into lots of nearly equal size; groups below the least size stand
 * together where the scheme lets them, unless their type has so many meters that it stays apart. Every meter ends in
 * exactly one group or among those left out.
 *
 * A set of N years begins with a year divisible by N, so that a meter stays in its set from year to year. Where small
 * groups together are still below the least size, the smallest other group that may be merged is taken in.
 *
 * @param cells the inventory in service, each combination once
 * @param scheme its rules of grouping and of lot size
 * @returns the groups in the order of their keys, and what was left out
 * @throws RangeError if a count is not a whole number of at least 1, or the scheme does not form groups
 * @source the scheme's own; Mich. Admin. Code R 460.3613(3)(a) and (b) for a least and greatest lot and types that stay
 *   apart; how small groups are put together is common practice, no source
 */
export function formGroups(
  cells: readonly InventoryCell[],
  scheme: Pick<SamplingScheme, "grouping" | "lotSize" | "source">,
): FormedGroups {
  const { grouping, lotSize } = scheme;
  if (grouping === null) throw new RangeError("this scheme does not form groups");
  for (const { meters } of cells) requireWhole(meters, 1, "the number of meters of a cell");
  const leftOut = new Map<string, number>();
  const found = new Map<string, Draft>();
  const ofType = new Map<string, number>();
  for (const cell of cells) {
    ofType.set(cell.typeId, (ofType.get(cell.typeId) ?? 0) + cell.meters);
    const reason =
      grouping.years !== null && cell.year === null
        ? "No purchase date on record: the year set is not known"
        : grouping.area && cell.area === null
          ? "Not at a service point: the area is not known"
          : null;
    if (reason !== null) {
      leftOut.set(reason, (leftOut.get(reason) ?? 0) + cell.meters);
      continue;
    }
    const { key, title } = nameOf(cell, grouping);
    const draft = found.get(key) ?? { key, title, size: 0, cells: [], of: [] };
    draft.size += cell.meters;
    draft.cells.push(cell);
    found.set(key, draft);
  }
  const mayMerge = ({ cells: [cell] }: Draft) =>
    cell !== undefined &&
    (lotSize.standAloneFrom === null || (ofType.get(cell.typeId) ?? 0) < lotSize.standAloneFrom);
  const groups =
    grouping.merge === "never"
      ? [...found.values()]
      : mergeSmall([...found.values()], lotSize.min, grouping.merge, mayMerge);
  return {
    groups: groups.map((draft) => standing(draft, scheme)).sort((a, b) => (a.key < b.key ? -1 : 1)),
    leftOut: [...leftOut].map(([reason, meters]) => ({ reason, meters })),
  };
}

interface Draft {
  key: string;
  title: string;
  size: number;
  cells: InventoryCell[];
  of: { title: string; size: number }[];
}

type Grouping = NonNullable<SamplingScheme["grouping"]>;

function nameOf(cell: InventoryCell, grouping: Grouping): { key: string; title: string } {
  const parts = [cell.typeId];
  const words = [`${cell.type}, form ${cell.form}`];
  if (grouping.years !== null && cell.year !== null) {
    const first = cell.year - (cell.year % grouping.years);
    const last = first + grouping.years - 1;
    const set = first === last ? String(first) : `${first} to ${last}`;
    parts.push(set);
    words.push(`bought ${set}`);
  }
  if (grouping.firmware) {
    parts.push(`firmware ${cell.firmware}`);
    words.push(cell.firmware === "" ? "firmware not stated" : `firmware ${cell.firmware}`);
  }
  if (grouping.area && cell.area !== null) {
    parts.push(`area ${cell.area}`);
    words.push(`area ${cell.area}`);
  }
  return { key: parts.join(" | "), title: words.join(", ") };
}

function mergeSmall(
  groups: readonly Draft[],
  min: number,
  merge: Exclude<Grouping["merge"], "never">,
  mayMerge: (group: Draft) => boolean,
): Draft[] {
  const classOf = ({ cells: [cell] }: Draft) =>
    (merge === "same-form" ? `form ${cell?.form}` : cell?.technology) ?? "";
  const kept: Draft[] = groups.filter((group) => !mayMerge(group));
  const classes = groupedBy(groups.filter(mayMerge), classOf);
  for (const [name, members] of classes) {
    const small = members.filter(({ size }) => size < min);
    const large = members.filter(({ size }) => size >= min).sort((a, b) => a.size - b.size);
    const total = () => small.reduce((sum, { size }) => sum + size, 0);
    if (small.length > 0 && total() < min) {
      const smallest = large.shift();
      if (smallest !== undefined) small.push(smallest);
    }
    if (small.length < 2 || total() < min) kept.push(...small);
    else {
      small.sort((a, b) => (a.key < b.key ? -1 : 1));
      kept.push({
        key: `together | ${name}`,
        title: `Small groups together, ${name}`,
        size: total(),
        cells: small.flatMap(({ cells }) => cells),
        of: small.map(({ title, size }) => ({ title, size })),
      });
    }
    kept.push(...large);
  }
  return kept;
}

function standing(
  draft: Draft,
  { lotSize, source }: Pick<SamplingScheme, "lotSize" | "source">,
): FormedGroup {
  const merged = draft.of.length > 0;
  const words = merged
    ? [`${draft.of.length} groups below ${lotSize.min}, or needed by them, stand together.`]
    : [];
  const of = merged ? draft.of : [{ title: draft.title, size: draft.size }];
  if (draft.size < lotSize.min) {
    const reason = `${draft.size} meters are below the least lot of ${lotSize.min} (${source}), and no other group may stand with them.`;
    return { ...draft, of, standing: "too-small", lots: [], reason };
  }
  const lots =
    lotSize.max === null ? [draft.size] : equalParts(draft.size, Math.ceil(draft.size / lotSize.max));
  if (lots.length > 1)
    words.push(`${draft.size} meters are above the greatest lot of ${lotSize.max}: ${lots.length} lots.`);
  return {
    ...draft,
    of,
    standing: lots.length > 1 ? "split" : merged ? "merged" : "formed",
    lots,
    reason: words.join(" "),
  };
}

/** Whole parts that differ by one at most, the larger ones first. */
function equalParts(size: number, parts: number): number[] {
  const least = Math.floor(size / parts);
  return Array.from({ length: parts }, (_, place) => least + (place < size % parts ? 1 : 0));
}
