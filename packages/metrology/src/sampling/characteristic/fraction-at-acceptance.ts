import { binomialLaw } from "./binomial-law.ts";
import { lowerTail } from "./lower-tail.ts";
import type { SinglePlan } from "./single-acceptance.ts";

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
  if (plan.ac >= plan.n) throw new RangeError("a plan that accepts every sample has no such point");
  if (!(probability > 0 && probability < 1)) throw new RangeError("a probability must lie between 0 and 1");
  let low = 0;
  let high = 1;
  for (let step = 0; step < 200; step += 1) {
    const middle = (low + high) / 2;
    if (middle <= low || middle >= high) break;
    if (lowerTail(binomialLaw(plan.n, middle), plan.ac) > probability) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}
