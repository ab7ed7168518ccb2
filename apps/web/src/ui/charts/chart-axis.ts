import { niceTicks } from "./nice-ticks.ts";

/** One axis of a chart: its ends, its name with the unit, and the values written along it. */
export interface ChartAxis {
  from: number;
  to: number;
  label: string;
  ticks: readonly { value: number; text: string }[];
}

/**
 * An axis with round values written along it, all with the same places.
 *
 * @param label  what is drawn, with its unit
 * @param from   lowest value, below `to`
 * @param to     highest value
 * @param most   how many values at most, 2 or more
 * @returns the axis
 * @throws RangeError if the range is empty
 */
export function chartAxis(label: string, from: number, to: number, most: number): ChartAxis {
  const values = niceTicks(from, to, most);
  const places = Math.max(0, ...values.map((value) => String(value).split(".")[1]?.length ?? 0));
  return { from, to, label, ticks: values.map((value) => ({ value, text: value.toFixed(places) })) };
}
