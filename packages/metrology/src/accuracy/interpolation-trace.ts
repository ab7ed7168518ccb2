import type { Fraction } from "../fraction.ts";
import type { FormulaTrace } from "./pass-evaluation.ts";
import type { CertifiedPoint } from "./test-terms.ts";

/**
 * How the standard's registration at a load came about between two certified points.
 *
 * @param below         certified point at fewer amperes
 * @param above         certified point at more amperes
 * @param amperes       load of the standard, A
 * @param registration  interpolated percent registration
 * @source standardRegistrationAt
 */
export function interpolationTrace(
  below: CertifiedPoint,
  above: CertifiedPoint,
  amperes: Fraction,
  registration: Fraction,
): FormulaTrace {
  return {
    formula: "R_s = R_1 + (R_2 - R_1) (I - I_1) / (I_2 - I_1)",
    inputs: [
      { symbol: "R_1", label: "Certified registration below", value: below.registrationPercent, unit: "%" },
      { symbol: "R_2", label: "Certified registration above", value: above.registrationPercent, unit: "%" },
      { symbol: "I", label: "Current of the standard", value: amperes.toText(), unit: "A" },
      { symbol: "I_1", label: "Certified current below", value: below.amperes, unit: "A" },
      { symbol: "I_2", label: "Certified current above", value: above.amperes, unit: "A" },
    ],
    result: {
      symbol: "R_s",
      label: "Certified registration of the standard",
      value: registration.toText(),
      unit: "%",
    },
    source: "Linear interpolation between certified points: common practice, no source",
  };
}
