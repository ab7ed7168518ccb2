import { Fraction } from "../fraction.ts";
import { certifiedUncertainty } from "./certified-uncertainty.ts";
import type { CertifiedPoint } from "./test-terms.ts";

/**
 * Expanded uncertainty of a value that could not be corrected for the standard's error, because its load lies outside
 * the certified range: the largest certified uncertainty plus the largest certified error, over all the certificate's
 * points. A known error that is not corrected is added to the expanded uncertainty.
 *
 * @param certifiedPoints  the certificate's points
 * @returns percent of reading, at a coverage factor of 2; null when the certificate has no points at all
 * @source JCGM 100:2008, F.2.4.5 (U + |b| for an uncorrected bias b); taking the certificate's largest values as those
 *   outside its range is a choice of ours
 * @example points 100.02 % and 99.95 %, both U 0.04 % at k = 2 // 0.09 %
 */
export function uncorrectedUncertainty(certifiedPoints: readonly CertifiedPoint[]): Fraction | null {
  if (certifiedPoints.length === 0) {
    return null;
  }
  const errors = certifiedPoints.map((point) =>
    Fraction.of(point.registrationPercent).minus("100").absolute(),
  );
  return largest(certifiedPoints.map(certifiedUncertainty)).plus(largest(errors));
}

function largest(values: Fraction[]): Fraction {
  return values.reduce((most, value) => (value.isGreaterThan(most) ? value : most), Fraction.of(0n));
}
