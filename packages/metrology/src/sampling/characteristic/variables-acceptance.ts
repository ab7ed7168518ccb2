import { normalQuantile } from "../../statistics/normal-quantile.ts";
import { requireWhole } from "../require-whole.ts";
import { indexAtPercent } from "./index-at-percent.ts";
import { noncentralTUpperTail } from "./noncentral-t-upper-tail.ts";

/** A plan by variables with one limit: by k (Form 1) or by M in percent (Form 2). */
export type VariablesCharacteristicPlan =
  | { n: number; k: number; maximumPercent?: never }
  | { n: number; maximumPercent: number; k?: never };

/**
 * Probability of acceptance of a plan by variables with one limit, variability unknown, standard deviation method.
 *
 * Form 2 accepts when the estimate is at most M, which is when Q is at least the k that goes with M: one law serves both.
 *
 * @param plan sample size (whole, >= 3) with k, or with M in percent
 * @param p fraction nonconforming of the process, 0 < p < 1 (0 accepts, 1 does not)
 * @returns probability, 0 to 1
 * @throws RangeError if a number is outside its range
 * @source MIL-STD-414 (1957), Table A-3 curves; Resnikoff and Lieberman (1957)
 * @example variablesAcceptance({ n: 10, k: 1.72 }, 0.01) // 0.8978
 */
export function variablesAcceptance(plan: VariablesCharacteristicPlan, p: number): number {
  requireWhole(plan.n, 3, "the sample size");
  if (!(p >= 0 && p <= 1)) throw new RangeError("a fraction nonconforming must lie between 0 and 1");
  if (p === 0) return 1;
  if (p === 1) return 0;
  const k = plan.k === undefined ? indexAtPercent(plan.maximumPercent, plan.n) : plan.k;
  if (!Number.isFinite(k)) throw new RangeError("the acceptance constant k must be a finite number");
  const root = Math.sqrt(plan.n);
  return noncentralTUpperTail(k * root, plan.n - 1, -root * normalQuantile(p));
}
