import { fractionWhereAccepted } from "./fraction-where-accepted.ts";

/** What a plan protects, in two points of its operating characteristic and in words. */
export interface Protection {
  /** Percent nonconforming that is still accepted 95 times in 100: the producer's side. */
  acceptedPercent: number;
  /** Percent nonconforming that is accepted only 10 times in 100: the consumer's side. */
  refusedPercent: number;
  /** One sentence for the person who chooses the plan. */
  sentence: string;
}

/**
 * Says what a plan protects. The risks of 5 % and 10 % are those that books on sampling usually name (common practice).
 *
 * @param acceptance probability of acceptance at a fraction nonconforming: 1 at 0, falling, 0 at 1
 * @returns both points in percent, unrounded, and a sentence that rounds them to three digits
 * @throws RangeError if the plan accepts everything
 * @example protectionOfPlan((p) => singleAcceptance({ n: 80, ac: 1 }, p).probability).acceptedPercent // 0.446
 */
export function protectionOfPlan(acceptance: (fraction: number) => number): Protection {
  const acceptedPercent = 100 * fractionWhereAccepted(acceptance, 0.95);
  const refusedPercent = 100 * fractionWhereAccepted(acceptance, 0.1);
  const threeDigits = (percent: number) => Number(percent.toPrecision(3));
  return {
    acceptedPercent,
    refusedPercent,
    sentence: `A process with ${threeDigits(acceptedPercent)} % nonconforming is accepted 95 times in 100; one with ${threeDigits(refusedPercent)} % only 10 times in 100.`,
  };
}
