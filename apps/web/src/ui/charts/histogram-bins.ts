import { niceTicks } from "./nice-ticks.ts";

/** How many values lie in one class; the lower end belongs to it, the upper to the next. */
export interface HistogramBin {
  from: number;
  to: number;
  count: number;
}

/**
 * Classes of equal round width for drawing a distribution, about as many as the square root of the number of values
 * (common practice), between 5 and 20.
 *
 * @param values  n >= 1 finite values, any order
 * @returns classes in rising order that hold every value; the first and the last are not empty
 * @throws RangeError if there are no values or one is not finite
 */
export function histogramBins(values: readonly number[]): HistogramBin[] {
  if (values.length === 0 || values.some((value) => !Number.isFinite(value))) {
    throw new RangeError("a histogram needs finite values, one at least");
  }
  const [low, high] = [Math.min(...values), Math.max(...values)];
  const wanted = Math.min(20, Math.max(5, Math.ceil(Math.sqrt(values.length))));
  // Values that are all equal still want a class around them.
  const spread = high > low ? high - low : 0.1;
  const ticks = niceTicks(low, low + spread * (1 - 1e-9), wanted);
  const step = stepOf(ticks, spread / wanted);
  // A value that was typed as the class's end, such as 99.8, is no exact double: a billionth of a step decides for it.
  const placeOf = (value: number) => Math.floor(value / step + 1e-9);
  const first = placeOf(low);
  const counts = new Array<number>(placeOf(high) - first + 1).fill(0);
  for (const value of values) {
    const place = placeOf(value) - first;
    counts[place] = (counts[place] ?? 0) + 1;
  }
  const edge = (place: number) => Number(((first + place) * step).toPrecision(12));
  return counts.map((count, place) => ({ from: edge(place), to: edge(place + 1), count }));
}

function stepOf(ticks: readonly number[], otherwise: number): number {
  const [first, second] = ticks;
  return first === undefined || second === undefined ? otherwise : Number((second - first).toPrecision(6));
}
