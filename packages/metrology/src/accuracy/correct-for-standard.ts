import { requireNotNegative } from "../require-not-negative.ts";
import { requirePositive } from "../require-positive.ts";
import { type PercentRegistration, percentRegistration } from "../units.ts";

/**
 * Registration of a meter corrected for the certified error of the standard. The energy that truly passed is
 * W_true = 100 W_indicated / R_standard, so the registration against the truth is R = R_indicated R_standard / 100.
 *
 * @param indicated  registration of the meter against what the standard indicated; >= 0
 * @param standard   certified registration of the standard at this load; > 0, 100 when it registers truly
 * @returns percent registration, exact
 * @throws RangeError if the meter's is negative, or the standard's is not greater than 0
 * @source definition of percent registration, applied to meter and standard in turn
 * @example a meter at 100 % against a standard that registers 100.05 % of the truth // 100.05
 */
export function correctForStandard(
  indicated: PercentRegistration,
  standard: PercentRegistration,
): PercentRegistration {
  requireNotNegative("indicated registration", indicated);
  requirePositive("standard's registration", standard);
  return percentRegistration(indicated.times(standard).dividedBy("100"));
}
