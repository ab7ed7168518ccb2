import { requireWhole } from "../require-whole.ts";
import { binomialProbability } from "./binomial-probability.ts";
import type { CountingLaw } from "./lower-tail.ts";

/**
 * Law of the nonconforming units in a sample from a process (type B): each unit nonconforming with the same probability.
 *
 * @param n sample size, whole, >= 0
 * @param p fraction nonconforming, 0 <= p <= 1
 * @returns the binomial law
 * @throws RangeError if n is not whole or p lies outside 0..1
 */
export function binomialLaw(n: number, p: number): CountingLaw {
  requireWhole(n, 0, "the sample size");
  if (!(p >= 0 && p <= 1)) throw new RangeError("a fraction nonconforming must lie between 0 and 1");
  const odds = p / (1 - p);
  return {
    least: p === 1 ? n : 0,
    most: p === 0 ? 0 : n,
    mode: Math.min(n, Math.floor((n + 1) * p)),
    probability: (x) => binomialProbability(x, n, p),
    ratioUp: (x) => ((n - x) / (x + 1)) * odds,
  };
}
