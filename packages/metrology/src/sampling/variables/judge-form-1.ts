import type { PercentEstimate } from "../evaluation/estimate-percent-nonconforming.ts";
import { judgementOf, type VariablesJudgement } from "./judgement-of.ts";

/**
 * Judges a lot by Form 1: the quality index against k. One limit only; equality accepts.
 *
 * @param estimate the estimate from the sample, with exactly one limit
 * @param k acceptability constant of the plan
 * @returns the outcome with its comparison
 * @throws RangeError if the estimate has both limits (Form 1 is for one), or k is not finite
 * @source MIL-STD-414 (1957), B-5, example B-1: Q 1.59 against k 1.53
 */
export function judgeForm1(estimate: PercentEstimate, k: number): VariablesJudgement {
  if (!Number.isFinite(k)) throw new RangeError("k must be finite");
  if (estimate.lower !== null && estimate.upper !== null) throw new RangeError("Form 1 is for one limit");
  const q = estimate.qLower ?? estimate.qUpper;
  if (q === null) {
    // Without spread Q is infinite on the side where the common value lies.
    const holds = estimate.p === 0;
    return judgementOf([
      {
        text: "quality index (no spread)",
        value: holds ? Number.POSITIVE_INFINITY : Number.NEGATIVE_INFINITY,
        bound: k,
        holds,
      },
    ]);
  }
  return judgementOf([{ text: "quality index", value: q, bound: k, holds: q >= k }]);
}
