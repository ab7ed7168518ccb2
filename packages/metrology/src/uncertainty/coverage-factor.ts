import { studentTQuantile } from "../statistics/student-t-quantile.ts";

/**
 * Coverage factor k for a level of confidence: the two-sided t of the degrees of freedom.
 *
 * @param levelOfConfidence probability that the interval holds the true value, 0 < p < 1 (0.95, 0.9545, ...)
 * @param degreesOfFreedom whole and positive, truncated before; null when they are without limit
 * @returns coverage factor, dimensionless
 * @throws RangeError if the level lies outside 0..1 or the degrees of freedom are not positive
 * @source JCGM 100:2008, Table G.2: 16 degrees of freedom, 99 % give 2.92
 * @example coverageFactor(0.99, 16) // 2.9207816224251
 */
export function coverageFactor(levelOfConfidence: number, degreesOfFreedom: number | null): number {
  if (!(levelOfConfidence > 0 && levelOfConfidence < 1)) {
    throw new RangeError(`a level of confidence lies between 0 and 1, got ${levelOfConfidence}`);
  }
  return studentTQuantile((1 + levelOfConfidence) / 2, degreesOfFreedom ?? Number.POSITIVE_INFINITY);
}
