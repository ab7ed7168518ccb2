import type { ProblemError } from "@sealbook/contract/problems";
import type { Calibration, NewCalibration } from "@sealbook/contract/standards";
import { standardRegistrationOf } from "@sealbook/metrology/accuracy/standard-registration-of";

/** Beyond 90 % to 110 % a figure is no registration of a standard: the sign convention was taken wrongly. */
const plausible = { minPercent: 90, maxPercent: 110 };

export type CheckedCertificate =
  | { kind: "points"; points: Calibration["points"] }
  | { kind: "refused"; errors: ProblemError[] };

/**
 * The points of a certificate as percent registration, or what cannot be taken: a figure that its sign convention
 * makes implausible (house check, no source), a power factor that contradicts its sense, the same load twice.
 */
export function checkCertificate(
  certificate: Pick<NewCalibration, "points" | "signConvention">,
): CheckedCertificate {
  const errors: ProblemError[] = [];
  const loads = new Set<string>();
  const points = certificate.points.map(({ printedPercent, ...point }, index) => {
    const pointer = `/points/${index}`;
    const registrationPercent = standardRegistrationOf(printedPercent, certificate.signConvention);
    const figure = Number(registrationPercent);
    if (figure < plausible.minPercent || figure > plausible.maxPercent) {
      errors.push({
        pointer: `${pointer}/printedPercent`,
        detail: `${printedPercent} would make the standard register ${registrationPercent} %; check the certificate's sign convention.`,
        rule: "A standard registers between 90 % and 110 % (house check, no source)",
      });
    }
    if ((Number(point.powerFactor) === 1) !== (point.powerFactorSense === "unity")) {
      errors.push({
        pointer: `${pointer}/powerFactorSense`,
        detail: "Unity goes with power factor 1 and with no other.",
      });
    }
    const load = [
      Number(point.amperes),
      Number(point.volts),
      Number(point.powerFactor),
      point.powerFactorSense,
      point.quantity,
    ].join(" ");
    if (loads.has(load)) {
      errors.push({ pointer, detail: "This load stands on an earlier line already." });
    }
    loads.add(load);
    return { ...point, registrationPercent };
  });
  return errors.length > 0 ? { kind: "refused", errors } : { kind: "points", points };
}
