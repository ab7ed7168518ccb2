import { fractionWhereAccepted } from "./fraction-where-accepted.ts";
import { type SinglePlan, singleAcceptance } from "./single-acceptance.ts";

/**
 * Fraction nonconforming at which a single plan accepts with a given probability (type B): at 95 % the producer is
 * protected up to it, at 10 % the consumer beyond it.
 *
 * @param plan sample size n and acceptance number, 0 <= ac < n
 * @param probability probability of acceptance, 0 < probability < 1
 * @returns fraction nonconforming
 * @throws RangeError if the plan accepts everything or the probability is not between 0 and 1
 * @source UK SI 1996/2636, Schedule 2, prints such points for its plans
 * @example fractionAtAcceptance({ n: 80, ac: 1 }, 0.05) // 0.0579 (SI 1996/2636 prints 5.8 %)
 */
export function fractionAtAcceptance(plan: SinglePlan, probability: number): number {
  return fractionWhereAccepted((fraction) => singleAcceptance(plan, fraction).probability, probability);
}
