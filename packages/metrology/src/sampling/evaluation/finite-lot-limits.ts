import { hypergeometricLaw } from "../characteristic/hypergeometric-law.ts";
import { lowerTail, upperTail } from "../characteristic/lower-tail.ts";
import { requireWhole } from "../require-whole.ts";

/** Limits of the number of nonconforming units in a lot, whole numbers. */
export interface LotLimits {
  lower: number;
  upper: number;
}

/**
 * Exact confidence limits of the number of nonconforming units in the lot that a sample was drawn from.
 *
 * The limits are the least and the greatest D that the sample does not contradict: those under which a count as large, or
 * as small, still has more than its share of the risk.
 *
 * @param nonconforming nonconforming units in the sample, whole, 0 <= x <= n
 * @param n sample size, whole, 1 <= n <= N
 * @param lotSize units in the lot N, whole
 * @param confidence 0 < confidence < 1, the risk shared by both sides
 * @returns least and greatest number of nonconforming units in the lot
 * @throws RangeError if a number is outside its range
 * @source Buonaccorsi, A Note on Confidence Intervals for Proportions in Finite Populations (1987); Wright (1991)
 * @example finiteLotLimits(1, 50, 500, 0.95) // 1 to 51
 */
export function finiteLotLimits(
  nonconforming: number,
  n: number,
  lotSize: number,
  confidence: number,
): LotLimits {
  requireWhole(lotSize, 1, "the lot size");
  requireWhole(n, 1, "the sample size");
  requireWhole(nonconforming, 0, "the number of nonconforming units");
  if (n > lotSize) throw new RangeError("a sample cannot be larger than its lot");
  if (nonconforming > n) throw new RangeError("a sample cannot have more nonconforming units than units");
  if (!(confidence > 0 && confidence < 1)) throw new RangeError("the confidence must lie between 0 and 1");
  const risk = (1 - confidence) / 2;
  const least = nonconforming;
  const most = lotSize - n + nonconforming;
  const lawOf = (d: number) => hypergeometricLaw(lotSize, d, n);
  return {
    lower: firstWhole(least, most, (d) => upperTail(lawOf(d), nonconforming) > risk),
    upper: firstWhole(least, most + 1, (d) => d > most || lowerTail(lawOf(d), nonconforming) <= risk) - 1,
  };
}

/** First whole number from low to high for which a condition holds that, once true, stays true; it holds at high. */
function firstWhole(low: number, high: number, holds: (value: number) => boolean): number {
  let from = low;
  let to = high;
  while (from < to) {
    const middle = Math.floor((from + to) / 2);
    if (holds(middle)) to = middle;
    else from = middle + 1;
  }
  return from;
}
