import { normalQuantile } from "../statistics/normal-quantile.ts";

/**
 * Standard deviation of a centred normal population from the share of it that keeps its tolerance.
 *
 * @param tolerance half-width T of the limits about the population's mean; > 0
 * @param inTolerance share of true values within the limits, 0 < share < 1
 * @returns standard deviation in the unit of the tolerance: T / z of (1 + share) / 2
 * @throws RangeError if the tolerance is not positive or the share lies outside 0..1
 * @source ANSI/NCSL Z540.3 handbook as commonly quoted; the normal distribution's definition
 * @example spreadOfReliability(2, 0.9544997361036416) // 1
 */
export function spreadOfReliability(tolerance: number, inTolerance: number): number {
  if (!(tolerance > 0) || !Number.isFinite(tolerance)) {
    throw new RangeError(`the tolerance must be positive, got ${tolerance}`);
  }
  if (!(inTolerance > 0 && inTolerance < 1)) {
    throw new RangeError(`a share in tolerance lies between 0 and 1, got ${inTolerance}`);
  }
  return tolerance / normalQuantile((1 + inTolerance) / 2);
}
