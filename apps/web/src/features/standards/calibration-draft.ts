import type { Calibration, NewCalibration } from "@sealbook/contract/standards";
import {
  type SignConvention,
  standardRegistrationOf,
} from "@sealbook/metrology/accuracy/standard-registration-of";

/** One line of a certificate as it is typed. */
export interface PointDraft {
  /** Names the line while it is edited; never sent. */
  lineId: string;
  amperes: string;
  volts: string;
  powerFactor: string;
  powerFactorSense: "unity" | "lagging" | "leading";
  quantity: "Wh" | "VARh" | "VAh";
  printedPercent: string;
  expandedUncertaintyPercent: string;
  coverageFactor: string;
}

/** A calibration as it is typed from its certificate. */
export interface CalibrationDraft {
  calibratedOn: string;
  dueOn: string;
  certificateNumber: string;
  laboratory: string;
  performedBy: string;
  traceability: string;
  againstStandardId: string;
  /** "" until it is chosen: how the certificate states its figures is asked, never guessed. */
  signConvention: SignConvention | "";
  points: PointDraft[];
  file: { id: string; name: string } | null;
  amendmentReason: string;
}

export function blankCalibration(lineId: string): CalibrationDraft {
  return {
    calibratedOn: "",
    dueOn: "",
    certificateNumber: "",
    laboratory: "",
    performedBy: "",
    traceability: "",
    againstStandardId: "",
    signConvention: "",
    points: [
      {
        lineId,
        amperes: "",
        volts: "",
        powerFactor: "1",
        powerFactorSense: "unity",
        quantity: "Wh",
        printedPercent: "",
        expandedUncertaintyPercent: "",
        coverageFactor: "2",
      },
    ],
    file: null,
    amendmentReason: "",
  };
}

/** The draft that corrects a calibration record: everything as it stands there, but for the reason. */
export function draftOfCalibration(calibration: Calibration, newLineId: () => string): CalibrationDraft {
  return {
    calibratedOn: calibration.calibratedOn,
    dueOn: calibration.dueOn,
    certificateNumber: calibration.certificateNumber,
    laboratory: calibration.laboratory,
    performedBy: calibration.performedBy,
    traceability: calibration.traceability,
    againstStandardId: calibration.againstStandard?.id ?? "",
    signConvention: calibration.signConvention,
    points: calibration.printedPoints.map((point) => ({ ...point, lineId: newLineId() })),
    file:
      calibration.certificate === null
        ? null
        : { id: calibration.certificate.id, name: calibration.certificate.name },
    amendmentReason: "",
  };
}

/** A further line: the load as on the line before, the figure to be typed. */
export function nextPoint(points: readonly PointDraft[], lineId: string): PointDraft {
  const before = points.at(-1);
  const first = blankCalibration(lineId).points[0];
  if (first === undefined) throw new RangeError("a blank calibration has one line");
  return before === undefined ? first : { ...before, lineId, amperes: "", printedPercent: "" };
}

/** Lines for the loads and uncertainties of an earlier certificate, each figure to be typed from the new one. */
export function pointsToFill(earlier: Calibration, newLineId: () => string): PointDraft[] {
  return earlier.printedPoints.map((point) => ({ ...point, lineId: newLineId(), printedPercent: "" }));
}

/**
 * What a printed figure makes the standard register, as the service will take it; null while the figure is no number or
 * the sign convention is not chosen.
 */
export function registrationOf(printedPercent: string, convention: SignConvention | ""): string | null {
  const text = printedPercent.trim();
  if (convention === "" || !/^-?\d{1,15}(\.\d{1,15})?$/.test(text)) return null;
  return standardRegistrationOf(text, convention);
}

/** The body to send. A convention that is not chosen is no word of the contract, whose check then names the field. */
export function calibrationBody(
  draft: CalibrationDraft,
  id: string,
  supersedesId: string | null,
): NewCalibration {
  return {
    id,
    calibratedOn: draft.calibratedOn.trim(),
    dueOn: draft.dueOn.trim(),
    certificateNumber: draft.certificateNumber.trim(),
    laboratory: draft.laboratory.trim(),
    performedBy: draft.performedBy.trim(),
    traceability: draft.traceability.trim(),
    againstStandardId: draft.againstStandardId === "" ? null : draft.againstStandardId,
    signConvention: draft.signConvention as SignConvention,
    points: draft.points.map(({ lineId: _, ...point }) => ({
      ...point,
      amperes: point.amperes.trim(),
      volts: point.volts.trim(),
      powerFactor: point.powerFactor.trim(),
      printedPercent: point.printedPercent.trim(),
      expandedUncertaintyPercent: point.expandedUncertaintyPercent.trim(),
      coverageFactor: point.coverageFactor.trim(),
    })),
    fileId: draft.file?.id ?? null,
    supersedesId,
    amendmentReason: supersedesId === null ? null : draft.amendmentReason.trim(),
  };
}
