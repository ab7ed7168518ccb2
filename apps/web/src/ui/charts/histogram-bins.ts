/** How many values lie in one class; the lower end belongs to it, the upper to the next. */
export interface HistogramBin {
  from: number;
  to: number;
  count: number;
}

/**
 * Classes of equal round width for drawing a distribution: at least as many as the square root of the number of values
 * (common practice), 3 to 16 as a start, and up to two and a half times as many where the round width asks for it.
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
  const wanted = Math.min(16, Math.max(3, Math.ceil(Math.sqrt(values.length))));
  // Values that are all equal still want a class around them.
  const step = roundStep(high > low ? (high - low) / wanted : 0.1);
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

/** The largest of 1, 2 or 5 times a power of ten that is no larger than the width. */
function roundStep(width: number): number {
  const power = 10 ** Math.floor(Math.log10(width) + 1e-9);
  const factor = [5, 2, 1].find((one) => one * power <= width * (1 + 1e-9)) ?? 1;
  return Number((factor * power).toPrecision(6));
}
