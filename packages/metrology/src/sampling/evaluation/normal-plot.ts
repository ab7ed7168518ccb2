import { normalQuantile } from "../../statistics/normal-quantile.ts";

/** One point of a normal probability plot. */
export interface NormalPlotPoint {
  /** Quantile of the standard normal distribution at the median of the place. */
  quantile: number;
  /** The value that has this place. */
  value: number;
  /** Where the value stands in the list as given, from 0. */
  index: number;
}

/**
 * Points of a normal probability plot: the sorted values against normal medians of their places. A normal sample lies
 * along a straight line.
 *
 * @param values n >= 1 readings in one unit, any order, finite
 * @returns one point a value, in rising order
 * @throws RangeError if a value is not finite
 * @source NIST/SEMATECH e-Handbook 1.3.3.21; Filliben (1975): medians (i - 0.3175) / (n + 0.365), the ends 0.5^(1/n)
 * @example normalPlot([3, 1, 2])[1] // { quantile: 0, value: 2, index: 2 }
 */
export function normalPlot(values: readonly number[]): NormalPlotPoint[] {
  if (values.some((value) => !Number.isFinite(value))) throw new RangeError("a value must be finite");
  const n = values.length;
  const sorted = values.map((value, index) => ({ value, index })).sort((a, b) => a.value - b.value);
  return sorted.map(({ value, index }, place) => ({
    quantile: normalQuantile(medianOfPlace(place + 1, n)),
    value,
    index,
  }));
}

function medianOfPlace(place: number, n: number): number {
  if (n === 1) return 0.5;
  if (place === n) return 0.5 ** (1 / n);
  if (place === 1) return 1 - 0.5 ** (1 / n);
  return (place - 0.3175) / (n + 0.365);
}
