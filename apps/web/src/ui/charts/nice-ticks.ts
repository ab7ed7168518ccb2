/**
 * Round values for an axis.
 *
 * @param from  lowest value, below `to`
 * @param to    highest value
 * @param most  how many values at most, 2 or more
 * @returns ascending multiples of 1, 2 or 5 times a power of ten that lie within
 * @throws RangeError if the range is empty or `most` is below 2
 */
export function niceTicks(from: number, to: number, most: number): number[] {
  if (!(from < to)) throw new RangeError(`an axis needs a range, got ${from} to ${to}`);
  if (!(most >= 2)) throw new RangeError(`an axis needs at least two values, got ${most}`);
  const rough = (to - from) / (most - 1);
  const power = 10 ** Math.floor(Math.log10(rough));
  const step =
    [1, 2, 5, 10].map((factor) => factor * power).find((candidate) => candidate >= rough) ?? 10 * power;
  const first = Math.ceil(from / step - 1e-9);
  const last = Math.floor(to / step + 1e-9);
  return Array.from({ length: last - first + 1 }, (_, index) =>
    Number(((first + index) * step).toPrecision(12)),
  );
}
