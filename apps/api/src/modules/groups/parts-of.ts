import type { FormedGroup } from "@sealbook/metrology/sampling/decision/form-groups";
import { lotSeries } from "@sealbook/metrology/sampling/decision/lot-series";

/** One lot that a group is sampled as. */
export interface PartOfGroup {
  series: string;
  title: string;
  size: number;
}

/** The lots of a group: one, or the parts of a split. */
export function partsOf(group: FormedGroup): PartOfGroup[] {
  return group.lots.map((size, index) => {
    const part = group.lots.length > 1 ? { number: index + 1, of: group.lots.length } : null;
    return {
      series: lotSeries({ kind: "group", group: group.key, part }),
      title: part === null ? group.title : `${group.title}, part ${part.number} of ${part.of}`,
      size,
    };
  });
}
