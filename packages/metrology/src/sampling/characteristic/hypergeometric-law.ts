import { requireWhole } from "../require-whole.ts";
import { binomialProbability } from "./binomial-probability.ts";
import type { CountingLaw } from "./lower-tail.ts";

/**
 * Law of the nonconforming units in a sample drawn without replacement from one lot (type A).
 *
 * @param lotSize units in the lot N, whole, >= 0
 * @param nonconforming nonconforming units in the lot D, whole, 0 <= D <= N
 * @param n sample size, whole, 0 <= n <= N
 * @returns the hypergeometric law
 * @throws RangeError if a number is not whole or D or n exceeds N
 * @source Loader, Fast and Accurate Computation of Binomial Probabilities (2000), section 5: three binomial probabilities
 */
export function hypergeometricLaw(lotSize: number, nonconforming: number, n: number): CountingLaw {
  requireWhole(lotSize, 0, "the lot size");
  requireWhole(nonconforming, 0, "the number of nonconforming units in the lot");
  requireWhole(n, 0, "the sample size");
  if (nonconforming > lotSize) throw new RangeError("a lot cannot have more nonconforming units than units");
  if (n > lotSize) throw new RangeError("a sample cannot be larger than its lot");
  const conforming = lotSize - nonconforming;
  return {
    least: Math.max(0, n - conforming),
    most: Math.min(n, nonconforming),
    mode: Math.floor(((n + 1) * (nonconforming + 1)) / (lotSize + 2)),
    probability: (x) => {
      if (n === 0 || n === lotSize) return 1;
      const p = n / lotSize;
      const q = (lotSize - n) / lotSize;
      return (
        (binomialProbability(x, nonconforming, p, q) * binomialProbability(n - x, conforming, p, q)) /
        binomialProbability(n, lotSize, p, q)
      );
    },
    ratioUp: (x) => ((nonconforming - x) / (x + 1)) * ((n - x) / (conforming - n + x + 1)),
  };
}
