import { requireWhole } from "../require-whole.ts";
import { binomialLaw } from "./binomial-law.ts";
import { hypergeometricLaw } from "./hypergeometric-law.ts";
import { lowerTail } from "./lower-tail.ts";

/** A single sampling plan by attributes, as far as its operating characteristic needs it. */
export interface SinglePlan {
  /** Sample size, whole, >= 0. */
  n: number;
  /** Acceptance number, whole, >= 0. */
  ac: number;
}

export interface Acceptance {
  /** Probability that the lot is accepted. */
  probability: number;
  /** Nonconforming units D in the lot, the nearest whole number to pN; null for a process (type B). */
  nonconforming: number | null;
}

/**
 * Probability of acceptance of a single plan: exact, for one lot (type A, hypergeometric) or a process (type B, binomial).
 *
 * A lot has a whole number of nonconforming units. D is the nearest whole number to pN, halves upwards, and is returned,
 * so that nobody reads the result as that of another D.
 *
 * @param plan sample size and acceptance number
 * @param p fraction nonconforming, 0 <= p <= 1
 * @param lotSize units in the lot, whole, at least the sample size; absent for a process
 * @returns the probability and D
 * @throws RangeError if a number is outside its range
 * @source MIL-STD-105E, 4.11; NIST/SEMATECH e-Handbook 6.2.3.2
 * @example singleAcceptance({ n: 52, ac: 3 }, 0.03).probability // 0.92954 (e-Handbook 6.2.3.2 prints 0.930)
 */
export function singleAcceptance(plan: SinglePlan, p: number, lotSize?: number): Acceptance {
  requireWhole(plan.n, 0, "the sample size");
  requireWhole(plan.ac, 0, "the acceptance number");
  if (!(p >= 0 && p <= 1)) throw new RangeError("a fraction nonconforming must lie between 0 and 1");
  if (lotSize === undefined) {
    return { probability: lowerTail(binomialLaw(plan.n, p), plan.ac), nonconforming: null };
  }
  const nonconforming = nearestWholeNonconforming(p, lotSize);
  return {
    probability: lowerTail(hypergeometricLaw(lotSize, nonconforming, plan.n), plan.ac),
    nonconforming,
  };
}

function nearestWholeNonconforming(p: number, lotSize: number): number {
  return Math.min(lotSize, Math.floor(p * lotSize + 0.5));
}
