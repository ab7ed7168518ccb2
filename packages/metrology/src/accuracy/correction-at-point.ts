import type { Fraction } from "../fraction.ts";
import { amperes, type PercentRegistration, volts } from "../units.ts";
import { interpolationTrace } from "./interpolation-trace.ts";
import type { FormulaTrace, StandardCorrection } from "./pass-evaluation.ts";
import { type StandardRegistration, standardRegistrationAt } from "./standard-registration-at.ts";
import type { PlanPoint, StandardInUse } from "./test-terms.ts";
import { uncorrectedUncertainty } from "./uncorrected-uncertainty.ts";

/** Test conditions that place a point on the standard's certificate; null where they are not known yet. */
export interface TestConditions {
  /** > 0 */
  volts: Fraction | null;
  /** TA of the meter, A; > 0 */
  testAmperes: Fraction | null;
}

export interface StandardToApply {
  registration: PercentRegistration;
  howComputed: FormulaTrace[];
}

export interface CorrectionAtPoint {
  correction: StandardCorrection;
  /** What to apply, and how it came about where it lies between certified points; null when nothing is applied. */
  toApply: StandardToApply | null;
  /** Percent, at a coverage factor of 2; null when it is not known. */
  expandedUncertainty: Fraction | null;
}

/**
 * What is done about the standard's own error at one point of a plan. The standard carries the current of the point:
 * its load percent of the test amperes.
 *
 * @param standard    the standard in use; null while none is chosen
 * @param point       the plan's point; load percent > 0
 * @param conditions  voltage and test amperes of the test
 * @source the rule profile decides about points outside the certified range; see standardRegistrationAt
 */
export function correctionAtPoint(
  standard: StandardInUse | null,
  point: PlanPoint,
  conditions: TestConditions,
): CorrectionAtPoint {
  if (standard === null) {
    return uncorrected({ kind: "no-standard", reason: "No standard is named; nothing is corrected." }, null);
  }
  if (conditions.volts === null || conditions.testAmperes === null) {
    const reason =
      "The voltage or the test amperes are not known, so the standard's error cannot be looked up.";
    return uncorrected({ kind: "refused", reason }, null);
  }
  const load = {
    amperes: amperes(conditions.testAmperes.times(point.loadPercent).dividedBy("100")),
    volts: volts(conditions.volts),
    powerFactor: point.powerFactor,
    powerFactorSense: point.powerFactorSense,
    quantity: point.quantity,
  };
  const found = standardRegistrationAt(standard.certifiedPoints, load);
  if (found.kind === "certified") {
    return standard.errorAppliedByBench
      ? uncorrected(alreadyApplied, found.expandedUncertainty)
      : applied(found, load.amperes);
  }
  const where = describeGap(found, load.amperes, conditions.volts, point);
  if (standard.outsideCertifiedRange === "refuse") {
    return uncorrected({ kind: "refused", reason: `${where} The profile refuses such a point.` }, null);
  }
  const uncertainty = uncorrectedUncertainty(standard.certifiedPoints);
  if (standard.errorAppliedByBench) {
    return uncorrected(alreadyApplied, uncertainty);
  }
  const kind = found.kind === "outside-range" ? "uncorrected-outside-range" : "no-certified-points";
  return uncorrected({ kind, reason: `${where} Taken uncorrected, with added uncertainty.` }, uncertainty);
}

const alreadyApplied: StandardCorrection = {
  kind: "already-applied-by-bench",
  reason: "The bench has applied the standard's certified error already.",
};

function applied(found: StandardRegistration & { kind: "certified" }, at: Fraction): CorrectionAtPoint {
  const [below, above] = found.between;
  const where =
    below === above
      ? `certified at ${below.amperes} A`
      : `interpolated at ${at.toText()} A between ${below.amperes} A and ${above.amperes} A`;
  const registration = found.registration.toText();
  return {
    correction: {
      kind: "applied",
      standardRegistrationPercent: registration,
      between: found.between,
      reason: `The standard registers ${registration} %, ${where}.`,
    },
    toApply: {
      registration: found.registration,
      howComputed: below === above ? [] : [interpolationTrace(below, above, at, found.registration)],
    },
    expandedUncertainty: found.expandedUncertainty,
  };
}

function uncorrected(
  correction: StandardCorrection,
  expandedUncertainty: Fraction | null,
): CorrectionAtPoint {
  return { correction, toApply: null, expandedUncertainty };
}

function describeGap(
  found: Exclude<StandardRegistration, { kind: "certified" }>,
  at: Fraction,
  voltage: Fraction,
  point: PlanPoint,
): string {
  if (found.kind === "outside-range") {
    return `${at.toText()} A is outside the certified ${found.lowestAmperes} A to ${found.highestAmperes} A.`;
  }
  const factor = `${point.powerFactor}${point.powerFactorSense === "unity" ? "" : ` ${point.powerFactorSense}`}`;
  return `The standard has no certified point at ${voltage.toText()} V, power factor ${factor}, ${point.quantity}.`;
}
