import { deviancePart } from "./deviance-part.ts";
import { stirlingRest } from "./stirling-rest.ts";

/**
 * Probability of exactly x nonconforming in a sample of n from a process, by its saddle-point form: no product of large
 * and small numbers, so that nothing overflows and the last digits hold.
 *
 * @param x nonconforming units, whole, 0 <= x <= n
 * @param n sample size, whole, >= 0
 * @param p fraction nonconforming, 0 <= p <= 1
 * @param q 1 - p, where the caller knows it better than the rounded difference
 * @returns probability
 * @source Loader, Fast and Accurate Computation of Binomial Probabilities (2000)
 * @example binomialProbability(1, 2, 0.5) // 0.5
 */
export function binomialProbability(x: number, n: number, p: number, q = 1 - p): number {
  if (p === 0) return x === 0 ? 1 : 0;
  if (q === 0) return x === n ? 1 : 0;
  if (x === 0) return n === 0 ? 1 : Math.exp(p < 0.1 ? -deviancePart(n, n * q) - n * p : n * Math.log(q));
  if (x === n) return Math.exp(q < 0.1 ? -deviancePart(n, n * p) - n * q : n * Math.log(p));
  const exponent =
    stirlingRest(n) -
    stirlingRest(x) -
    stirlingRest(n - x) -
    deviancePart(x, n * p) -
    deviancePart(n - x, n * q);
  return Math.exp(exponent) * Math.sqrt(n / (2 * Math.PI * x * (n - x)));
}
