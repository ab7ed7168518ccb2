export type TestUncertaintyRatio =
  | { kind: "ratio"; name: "test uncertainty ratio"; ratio: number }
  | { kind: "other-coverage-factor"; reason: string };

/**
 * Test uncertainty ratio: half the width of the tolerance over the expanded uncertainty at k = 2.
 *
 * Another coverage factor is refused rather than converted: without the degrees of freedom behind it the 95 %
 * uncertainty is not known.
 *
 * @param tolerance half-width of the limits, T; > 0, in the unit of the uncertainty
 * @param expandedUncertainty U of the whole comparison; > 0
 * @param coverageFactor the k of that U
 * @returns the ratio T / U, or why there is none
 * @throws RangeError if the tolerance or the uncertainty is not positive and finite
 * @source ANSI/NCSL Z540.3-2006, 3.11 as commonly quoted
 * @example testUncertaintyRatio(0.2, 0.05, 2) // ratio 4
 */
export function testUncertaintyRatio(
  tolerance: number,
  expandedUncertainty: number,
  coverageFactor: number,
): TestUncertaintyRatio {
  requirePositive("the tolerance", tolerance);
  requirePositive("the expanded uncertainty", expandedUncertainty);
  if (coverageFactor !== 2) {
    return {
      kind: "other-coverage-factor",
      reason: `A test uncertainty ratio needs the expanded uncertainty at k = 2; this one is at k = ${coverageFactor}.`,
    };
  }
  return { kind: "ratio", name: "test uncertainty ratio", ratio: tolerance / expandedUncertainty };
}

function requirePositive(name: string, value: number): void {
  if (!(value > 0) || !Number.isFinite(value)) throw new RangeError(`${name} must be positive, got ${value}`);
}
