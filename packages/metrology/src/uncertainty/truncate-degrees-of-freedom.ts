/**
 * Effective degrees of freedom cut down to the whole number below, as the tables of t ask. Truncation errs on the
 * side of a larger coverage factor. What lies within 1 part in 10^9 under a whole number counts as that number, since
 * the fourth powers of doubles cannot tell the two apart.
 *
 * @param degreesOfFreedom > 0, or null when they are without limit
 * @returns a whole number, at least 1, or null
 * @throws RangeError if the degrees of freedom are not positive
 * @source JCGM 100:2008, G.4.1, note 1 and G.6.4, step 2
 * @example truncateDegreesOfFreedom(16.7) // 16
 */
export function truncateDegreesOfFreedom(degreesOfFreedom: number | null): number | null {
  if (degreesOfFreedom === null || degreesOfFreedom === Number.POSITIVE_INFINITY) return null;
  if (!(degreesOfFreedom > 0)) {
    throw new RangeError(`degrees of freedom must be positive, got ${degreesOfFreedom}`);
  }
  return Math.max(1, Math.floor(degreesOfFreedom * (1 + 1e-9)));
}
