/**
 * Test accuracy ratio: the meter's tolerance over the standard's accuracy limit. It is not a test uncertainty ratio:
 * it leaves out everything but the standard, and its result carries its own name so that nobody takes it for one.
 *
 * @param tolerance half-width of the meter's limits; > 0
 * @param standardAccuracy accuracy limit of the standard in the same unit; > 0
 * @returns the ratio, named
 * @throws RangeError if either is not positive and finite
 * @source common practice, no source
 * @example testAccuracyRatio(0.2, 0.04) // ratio 5: "5 to 1"
 */
export function testAccuracyRatio(
  tolerance: number,
  standardAccuracy: number,
): { name: "test accuracy ratio"; ratio: number } {
  for (const value of [tolerance, standardAccuracy]) {
    if (!(value > 0) || !Number.isFinite(value)) throw new RangeError(`must be positive, got ${value}`);
  }
  return { name: "test accuracy ratio", ratio: tolerance / standardAccuracy };
}
