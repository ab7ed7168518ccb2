import { type GrubbsResult, grubbsTest } from "../../statistics/grubbs-test.ts";
import { type AndersonDarlingResult, andersonDarling } from "./anderson-darling.ts";
import { clopperPearson, type FractionLimits } from "./clopper-pearson.ts";
import {
  estimatePercentNonconforming,
  type NoEstimate,
  type PercentEstimate,
  type SpecificationLimits,
} from "./estimate-percent-nonconforming.ts";
import { finiteLotLimits, type LotLimits } from "./finite-lot-limits.ts";

/** What one sample of readings says of its lot. */
export interface SampleEvaluation {
  n: number;
  /** Readings beyond a limit; the limits themselves conform. */
  nonconforming: number;
  /** Observed fraction with exact limits, as for a process. */
  fraction: FractionLimits;
  /** Exact limits of the nonconforming units in the lot. */
  lot: LotLimits;
  estimate: PercentEstimate | NoEstimate;
  normality: AndersonDarlingResult;
  /** Grubbs' test at 0.05, both ends. The suspect is shown and stays in every figure. */
  outlier: GrubbsResult;
  /** What a quality engineer must weigh before a variables plan is trusted, in sentences. */
  cautions: string[];
}

/** Below this p-value a variables plan's assumption is doubtful enough to be said. Common practice, no source. */
const doubtfulPValue = 0.05;

/**
 * Evaluates the readings of a sample against limits: counted and estimated percent nonconforming, exact confidence
 * limits, normality and the outlier that Grubbs' test would name. Nothing is dropped.
 *
 * @param values readings in the unit of the limits, n >= 1; JSON numbers or decimal strings, finite
 * @param limits lower, upper or both, inclusive
 * @param lotSize units in the lot, whole, at least as many as the readings
 * @param confidence of the limits, 0 < confidence < 1
 * @returns the evaluation
 * @throws RangeError if there are no readings or a number is outside its range
 * @source Clopper and Pearson (1934); NIST/SEMATECH e-Handbook 1.3.5.14 and 1.3.5.17.1; MIL-STD-414, A9 on normality
 */
export function evaluateSample(
  values: readonly (number | string)[],
  limits: SpecificationLimits,
  lotSize: number,
  confidence = 0.95,
): SampleEvaluation {
  const n = values.length;
  if (n === 0) throw new RangeError("a sample without readings says nothing");
  const { lower = Number.NEGATIVE_INFINITY, upper = Number.POSITIVE_INFINITY } = limits;
  const nonconforming = values.filter((value) => Number(value) < lower || Number(value) > upper).length;
  const normality = andersonDarling(values);
  const outlier = grubbsTest(values);
  const cautions: string[] = [];
  if (normality.kind === "tested" && normality.pValue < doubtfulPValue) {
    cautions.push(
      "The readings do not look normal: a variables plan rests on normality. Look at the normal plot for two mixed groups or a few strays, and judge by the count (an attributes plan) where the rule allows it.",
    );
  }
  if (normality.kind === "not-testable" && normality.reason === "fewer-than-eight-values") {
    cautions.push("Fewer than eight readings: their normality cannot be tested.");
  }
  if (outlier.kind === "tested" && outlier.exceeds) {
    cautions.push(
      `Reading ${outlier.suspectIndex + 1} (${outlier.suspectValue}) lies far from the rest. It counts in every figure; find out why before the lot is decided.`,
    );
  }
  return {
    n,
    nonconforming,
    fraction: clopperPearson(nonconforming, n, confidence),
    lot: finiteLotLimits(nonconforming, n, lotSize, confidence),
    estimate: estimatePercentNonconforming({ values }, limits),
    normality,
    outlier,
    cautions,
  };
}
