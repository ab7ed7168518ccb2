import { binomialLaw } from "./binomial-law.ts";
import { hypergeometricLaw } from "./hypergeometric-law.ts";
import { lowerTail } from "./lower-tail.ts";

/** A double plan as far as its operating characteristic needs it. */
export interface DoubleCharacteristicPlan {
  n1: number;
  ac1: number;
  re1: number;
  n2: number;
  ac2: number;
}

export interface DoubleAcceptance {
  /** Probability that the lot is accepted. */
  probability: number;
  /** Probability that the first sample accepts. */
  acceptedAtFirst: number;
  /** Probability that a second sample is needed. */
  secondNeeded: number;
  /** Average sample number, both samples inspected whole. */
  averageSampleNumber: number;
  /** Nonconforming units in the lot; null for a process. */
  nonconforming: number | null;
}

/**
 * Probability of acceptance and average sample number of a double plan; exact, for one lot or a process. In a lot the
 * second sample comes from what the first one left.
 *
 * @param plan sizes and numbers; the second acceptance number counts both samples
 * @param p fraction nonconforming, 0 <= p <= 1
 * @param lotSize units in the lot, at least both samples; absent for a process
 * @returns the characteristic at p
 * @throws RangeError if a number is outside its range
 * @source Schilling, Acceptance Sampling in Quality Control; NIST/SEMATECH e-Handbook 6.2.3.3
 * @example doubleAcceptance({ n1: 13, ac1: 0, re1: 2, n2: 13, ac2: 1 }, 0.18).probability // 0.0921738126
 */
export function doubleAcceptance(
  plan: DoubleCharacteristicPlan,
  p: number,
  lotSize?: number,
): DoubleAcceptance {
  const { n1, ac1, re1, n2, ac2 } = plan;
  if (!(p >= 0 && p <= 1)) throw new RangeError("a fraction nonconforming must lie between 0 and 1");
  if (lotSize !== undefined && n1 + n2 > lotSize)
    throw new RangeError("the samples cannot be larger than their lot");
  const nonconforming = lotSize === undefined ? null : Math.min(lotSize, Math.floor(p * lotSize + 0.5));
  const first =
    lotSize === undefined || nonconforming === null
      ? binomialLaw(n1, p)
      : hypergeometricLaw(lotSize, nonconforming, n1);
  const secondLaw = (found: number) =>
    lotSize === undefined || nonconforming === null
      ? binomialLaw(n2, p)
      : hypergeometricLaw(lotSize - n1, nonconforming - found, n2);
  const acceptedAtFirst = lowerTail(first, ac1);
  let acceptedAtSecond = 0;
  let secondNeeded = 0;
  for (let found = Math.max(ac1 + 1, first.least); found < re1 && found <= first.most; found += 1) {
    const chance = first.probability(found);
    secondNeeded += chance;
    acceptedAtSecond += chance * lowerTail(secondLaw(found), ac2 - found);
  }
  return {
    probability: acceptedAtFirst + acceptedAtSecond,
    acceptedAtFirst,
    secondNeeded,
    averageSampleNumber: n1 + n2 * secondNeeded,
    nonconforming,
  };
}
