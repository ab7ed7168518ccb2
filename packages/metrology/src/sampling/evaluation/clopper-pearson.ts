import { binomialLaw } from "../characteristic/binomial-law.ts";
import { lowerTail, upperTail } from "../characteristic/lower-tail.ts";
import { requireWhole } from "../require-whole.ts";

/** Which limits are asked for: both, sharing the risk, or one that bears it alone. */
export type ConfidenceSides = "both" | "lower" | "upper";

export interface FractionLimits {
  /** Fraction nonconforming observed. */
  fraction: number;
  lower: number;
  upper: number;
}

/**
 * Exact confidence limits of the fraction nonconforming of a process from a count (Clopper and Pearson).
 *
 * @param nonconforming nonconforming units in the sample, whole, 0 <= x <= n
 * @param n sample size, whole, >= 1
 * @param confidence 0 < confidence < 1, such as 0.95
 * @param sides "both" unless one limit is asked for; the other is then 0 or 1
 * @returns the observed fraction and its limits
 * @throws RangeError if a number is outside its range
 * @source Clopper and Pearson (1934); Conover (1971), page 97: 682 of 925 gives 0.7076683 to 0.7654066
 * @example clopperPearson(682, 925, 0.95) // 0.7076683 to 0.7654066
 */
export function clopperPearson(
  nonconforming: number,
  n: number,
  confidence: number,
  sides: ConfidenceSides = "both",
): FractionLimits {
  requireWhole(n, 1, "the sample size");
  requireWhole(nonconforming, 0, "the number of nonconforming units");
  if (nonconforming > n) throw new RangeError("a sample cannot have more nonconforming units than units");
  if (!(confidence > 0 && confidence < 1)) throw new RangeError("the confidence must lie between 0 and 1");
  const risk = (1 - confidence) / (sides === "both" ? 2 : 1);
  return {
    fraction: nonconforming / n,
    lower:
      sides === "upper" || nonconforming === 0
        ? 0
        : crossing((p) => upperTail(binomialLaw(n, p), nonconforming) >= risk),
    upper:
      sides === "lower" || nonconforming === n
        ? 1
        : crossing((p) => lowerTail(binomialLaw(n, p), nonconforming) <= risk),
  };
}

/** Where a condition that is false at 0 and true at 1 becomes true, to neighbouring doubles. */
function crossing(holds: (p: number) => boolean): number {
  let low = 0;
  let high = 1;
  for (let step = 0; step < 200; step += 1) {
    const middle = (low + high) / 2;
    if (middle <= low || middle >= high) break;
    if (holds(middle)) high = middle;
    else low = middle;
  }
  return high;
}
