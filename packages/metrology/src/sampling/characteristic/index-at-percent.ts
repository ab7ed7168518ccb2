import { percentBeyondLimit } from "../variables/percent-beyond-limit.ts";

/**
 * Quality index at which the estimated percent beyond a limit equals a given percent: the k that goes with an M.
 *
 * @param percent percent, 0 <= percent <= 100
 * @param n sample size, whole, >= 3
 * @returns the index; at 0 percent the smallest Q that estimates nothing beyond, (n - 1) / sqrt(n)
 * @throws RangeError if the percent lies outside 0..100 or n is below 3
 * @source MIL-STD-414 (1957): Tables B-1 (k) and B-3 (M) are joined by this relation
 * @example indexAtPercent(25, 4) // 0.75: the estimate is a straight line for n = 4
 */
export function indexAtPercent(percent: number, n: number): number {
  if (!(percent >= 0 && percent <= 100)) throw new RangeError("a percent must lie between 0 and 100");
  const end = (n - 1) / Math.sqrt(n);
  let low = -end;
  let high = end;
  // The estimate falls as Q rises; halving stops at neighbouring doubles.
  for (let step = 0; step < 200; step += 1) {
    const middle = (low + high) / 2;
    if (middle <= low || middle >= high) break;
    if (percentBeyondLimit(middle, n) > percent) low = middle;
    else high = middle;
  }
  return high;
}
