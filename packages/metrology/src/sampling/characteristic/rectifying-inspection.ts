import { requireWhole } from "../require-whole.ts";
import { type SinglePlan, singleAcceptance } from "./single-acceptance.ts";

/** What rectifying inspection does to quality and to work: lots that are not accepted are inspected whole. */
export interface RectifyingInspection {
  /** Probability of acceptance, type B. */
  probability: number;
  /** Average outgoing quality, a fraction, nonconforming units found being replaced. */
  averageOutgoingQuality: number;
  /** Average total inspection, units a lot. */
  averageTotalInspection: number;
}

/**
 * Average outgoing quality and average total inspection of a single plan under rectifying inspection.
 *
 * @param plan sample size and acceptance number
 * @param p incoming fraction nonconforming of the process, 0 <= p <= 1
 * @param lotSize units a lot, whole, at least the sample size
 * @returns Pa, AOQ = p Pa (N - n) / N and ATI = n + (1 - Pa)(N - n)
 * @throws RangeError if a number is outside its range
 * @source NIST/SEMATECH e-Handbook 6.2.3.2; its printed AOQ leaves out the factor (N - n) / N
 * @example rectifyingInspection({ n: 52, ac: 3 }, 0.05, 10000).averageTotalInspection // 2655 (e-Handbook)
 */
export function rectifyingInspection(plan: SinglePlan, p: number, lotSize: number): RectifyingInspection {
  requireWhole(lotSize, 1, "the lot size");
  if (plan.n > lotSize) throw new RangeError("a sample cannot be larger than its lot");
  const { probability } = singleAcceptance(plan, p);
  const rest = lotSize - plan.n;
  return {
    probability,
    averageOutgoingQuality: (p * probability * rest) / lotSize,
    averageTotalInspection: plan.n + (1 - probability) * rest,
  };
}
