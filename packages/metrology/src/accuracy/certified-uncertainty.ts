import { Fraction } from "../fraction.ts";
import { requirePositive } from "../require-positive.ts";
import type { CertifiedPoint } from "./test-terms.ts";

/**
 * Expanded uncertainty of a certified point brought to a coverage factor of 2: U_2 = 2 U / k.
 *
 * @param point  expanded uncertainty in percent of reading, with its coverage factor; > 0
 * @returns percent of reading, at a coverage factor of 2, exact
 * @throws RangeError if the coverage factor is not greater than 0
 * @source JCGM 100:2008, 6.2.1 (U = k u)
 * @example U 0.03 % at k = 3 // 0.02 %
 */
export function certifiedUncertainty(
  point: Pick<CertifiedPoint, "expandedUncertaintyPercent" | "coverageFactor">,
): Fraction {
  const coverageFactor = Fraction.of(point.coverageFactor);
  requirePositive("coverage factor", coverageFactor);
  return Fraction.of(point.expandedUncertaintyPercent).times("2").dividedBy(coverageFactor);
}
