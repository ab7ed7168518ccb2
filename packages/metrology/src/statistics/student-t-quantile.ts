import quantile from "@stdlib/stats-base-dists-t-quantile";
import { normalQuantile } from "./normal-quantile.ts";

/**
 * Quantile of Student's t: the t below which a value falls with probability p.
 *
 * @param p probability, 0 <= p <= 1 (the ends give the infinities)
 * @param degreesOfFreedom > 0, whole or not; Infinity is the normal distribution
 * @returns value t, dimensionless
 * @throws RangeError if p is not between 0 and 1 or the degrees of freedom are not positive
 * @source JCGM 100:2008, Table G.2: 10 degrees of freedom and 95 % (two-sided, so p 0.975) give 2.23
 * @example studentTQuantile(0.975, 10) // 2.228138851964939
 */
export function studentTQuantile(p: number, degreesOfFreedom: number): number {
  if (!(p >= 0 && p <= 1)) throw new RangeError("a probability must lie between 0 and 1");
  if (!(degreesOfFreedom > 0)) throw new RangeError("degrees of freedom must be positive");
  if (degreesOfFreedom === Number.POSITIVE_INFINITY) return normalQuantile(p);
  if (p === 0) return Number.NEGATIVE_INFINITY;
  if (p === 1) return Number.POSITIVE_INFINITY;
  return p === 0.5 ? 0 : quantile(p, degreesOfFreedom);
}
