import betainc from "@stdlib/math-base-special-betainc";
import { normalCdf } from "./normal-cdf.ts";

/**
 * Distribution function of Student's t: the probability of a value at or below t.
 *
 * @param t value, dimensionless; any number but NaN
 * @param degreesOfFreedom > 0, whole or not; Infinity is the normal distribution
 * @returns probability, 0 to 1
 * @throws RangeError if t is NaN or the degrees of freedom are not positive
 * @source JCGM 100:2008, C.3.8; by the regularized incomplete beta function
 * @example studentTCdf(2.570581835636314, 5) // 0.975
 */
export function studentTCdf(t: number, degreesOfFreedom: number): number {
  if (Number.isNaN(t)) throw new RangeError("t must be a number");
  if (!(degreesOfFreedom > 0)) throw new RangeError("degrees of freedom must be positive");
  if (degreesOfFreedom === Number.POSITIVE_INFINITY) return normalCdf(t);
  if (!Number.isFinite(t)) return t > 0 ? 1 : 0;
  const square = t * t;
  // Both branches give half the probability outside -|t|..|t|. The one whose argument is at most 1/2 is taken,
  // because an argument next to 1 has lost the digits that many degrees of freedom ask for.
  const tail =
    square > degreesOfFreedom
      ? 0.5 * betainc(degreesOfFreedom / (degreesOfFreedom + square), degreesOfFreedom / 2, 0.5)
      : 0.5 * betainc(square / (degreesOfFreedom + square), 0.5, degreesOfFreedom / 2, true, true);
  return t > 0 ? 1 - tail : tail;
}
