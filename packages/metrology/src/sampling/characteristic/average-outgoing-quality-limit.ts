import { binomialLaw } from "./binomial-law.ts";
import { binomialProbability } from "./binomial-probability.ts";
import { lowerTail } from "./lower-tail.ts";
import type { SinglePlan } from "./single-acceptance.ts";

/**
 * Average outgoing quality limit: the worst average quality that leaves rectifying inspection, whatever comes in.
 *
 * The maximum of p Pa(p) lies where Pa = p n P(exactly Ac in n - 1); the derivative changes sign once.
 *
 * @param plan sample size n and acceptance number, 0 <= ac < n
 * @param lotSize units a lot, at least n; absent for lots that are large against the sample
 * @returns the limit as a fraction, and the incoming fraction nonconforming where it is reached
 * @throws RangeError if the plan accepts everything, or the lot is smaller than the sample
 * @source NIST/SEMATECH e-Handbook 6.2.3.2; MIL-STD-105E, 3.3
 * @example averageOutgoingQualityLimit({ n: 32, ac: 2 }).fraction // 0.0424
 */
export function averageOutgoingQualityLimit(
  plan: SinglePlan,
  lotSize?: number,
): { fraction: number; incomingFraction: number } {
  const { n, ac } = plan;
  if (ac >= n) throw new RangeError("a plan that accepts every sample has no outgoing quality limit");
  if (lotSize !== undefined && lotSize < n) throw new RangeError("a sample cannot be larger than its lot");
  let low = 0;
  let high = 1;
  for (let step = 0; step < 100 && high - low > 1e-16; step += 1) {
    const middle = (low + high) / 2;
    const slope = lowerTail(binomialLaw(n, middle), ac) - middle * n * binomialProbability(ac, n - 1, middle);
    if (slope > 0) low = middle;
    else high = middle;
  }
  const incomingFraction = (low + high) / 2;
  const share = lotSize === undefined ? 1 : (lotSize - n) / lotSize;
  return {
    fraction: incomingFraction * lowerTail(binomialLaw(n, incomingFraction), ac) * share,
    incomingFraction,
  };
}
