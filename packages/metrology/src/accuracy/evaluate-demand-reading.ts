import { demandErrorOfFullScale } from "../demand/demand-error-of-full-scale.ts";
import { demandErrorOfReading } from "../demand/demand-error-of-reading.ts";
import type { Fraction } from "../fraction.ts";
import { judgeValue } from "../judgement/judge-value.ts";
import { readablePercent } from "../judgement/readable-percent.ts";
import type { DemandEvaluation, FormulaTrace } from "./pass-evaluation.ts";
import { readNotNegative } from "./read-not-negative.ts";
import { readPositive } from "./read-positive.ts";
import type { DecisionRule, DemandBasis, DemandReading, DemandRule } from "./test-terms.ts";

export type DemandField = "indicatedKw" | "referenceKw" | "fullScaleKw" | "loadPercent";

const fieldWords: Record<DemandField, string> = {
  indicatedKw: "the meter's indication",
  referenceKw: "the reference",
  fullScaleKw: "the full scale",
  loadPercent: "the load in percent of test amperes",
};

/** One demand reading evaluated, with the fields of it that cannot be taken. */
export interface DemandReadingResult {
  evaluation: DemandEvaluation;
  refused: { field: DemandField; text: string; reason: string }[];
}

/**
 * Error of one demand reading and its verdict. The limit is inclusive and the same either way, and it holds in a part
 * of the range only: where the basis is full scale, the place in the range is what the reference shows over the full
 * scale; where the basis is the reading, it is the load in percent of test amperes. A reading outside that part is
 * computed and not judged.
 *
 * The uncertainty of the reference is not known here, so a decision rule that needs it leaves a reading within the
 * limit undecided.
 *
 * @param reading       as entered, which may be partial
 * @param rule          basis and limits
 * @param decisionRule  the profile's
 * @returns the error in percent of the basis, positive when the meter reads high, with its formula and verdict
 * @source F.A.C. 25-6.052(3)(a) and (b); that the place in the range is read on the reference: F.A.C. 25-6.103(1)
 * @example 54 kW against 50 kW, full scale 100 kW, at most 4 % of full scale from 25 % to 100 % // 4 %, pass, margin 0
 */
export function evaluateDemandReading(
  reading: DemandReading,
  rule: DemandRule,
  decisionRule: DecisionRule,
): DemandReadingResult {
  const { basis, limits } = rule;
  const scaleField = basis === "full-scale" ? "fullScaleKw" : "loadPercent";
  const scaleText = reading[scaleField] ?? "";
  const indicated = readNotNegative(reading.indicatedKw);
  const reference = readPositive(reading.referenceKw);
  const scale = readPositive(scaleText);
  const open: DemandEvaluation = {
    reading,
    basis,
    errorPercent: null,
    limits,
    marginPercent: null,
    rule: decisionRule,
    verdict: "undecided",
    reason: "This reading cannot be taken as entered.",
    howComputed: null,
  };
  const fields = [
    { field: "indicatedKw", text: reading.indicatedKw, read: indicated },
    { field: "referenceKw", text: reading.referenceKw, read: reference },
    { field: scaleField, text: scaleText, read: scale },
  ] as const;
  const refused = fields.flatMap(({ field, text, read }) =>
    read.kind === "refused" ? [{ field, text, reason: read.reason }] : [],
  );
  if (refused.length > 0) {
    return { evaluation: open, refused };
  }
  if (indicated.kind !== "number" || reference.kind !== "number" || scale.kind !== "number") {
    const missing = fields.flatMap(({ field, read }) => (read.kind === "blank" ? [fieldWords[field]] : []));
    return {
      evaluation: { ...open, reason: `This reading still needs: ${missing.join(", ")}.` },
      refused: [],
    };
  }
  const values = { indicated: indicated.value, reference: reference.value, scale: scale.value };
  const error =
    basis === "full-scale"
      ? demandErrorOfFullScale(values.indicated, values.reference, values.scale)
      : demandErrorOfReading(values.indicated, values.reference);
  const place = basis === "full-scale" ? values.reference.times("100").dividedBy(values.scale) : values.scale;
  return {
    evaluation: {
      ...open,
      ...judgeError(error, place, rule, decisionRule),
      errorPercent: error.toText(),
      howComputed: traceOf(basis, values, error),
    },
    refused: [],
  };
}

function judgeError(
  error: Fraction,
  place: Fraction,
  { basis, limits }: DemandRule,
  decisionRule: DecisionRule,
): Pick<DemandEvaluation, "verdict" | "reason" | "marginPercent"> {
  const sentence = `Error ${readablePercent(error, limits === null ? [] : [`-${limits.maxErrorPercent}`, limits.maxErrorPercent])} % of ${basis === "full-scale" ? "full scale" : "reading"}.`;
  if (limits === null) {
    return {
      verdict: "not-judged",
      marginPercent: null,
      reason: `${sentence} No limits of demand are given for this occasion.`,
    };
  }
  const { fromPercent, toPercent, maxErrorPercent, source } = limits;
  if (place.isLessThan(fromPercent) || place.isGreaterThan(toPercent)) {
    const of = basis === "full-scale" ? "full scale" : "test amperes";
    const where = readablePercent(place, [fromPercent, toPercent]);
    return {
      verdict: "not-judged",
      marginPercent: null,
      reason: `${sentence} Taken at ${where} % of ${of}; the limit holds from ${fromPercent} % to ${toPercent} % (${source}).`,
    };
  }
  const { verdict, marginPercent, reason } = judgeValue({
    value: error,
    limits: { minPercent: `-${maxErrorPercent}`, maxPercent: maxErrorPercent, source },
    rule: decisionRule,
    expandedUncertainty: null,
  });
  return { verdict, marginPercent, reason: `${sentence} ${reason}` };
}

function traceOf(
  basis: DemandBasis,
  { indicated, reference, scale }: Record<"indicated" | "reference" | "scale", Fraction>,
  error: Fraction,
): FormulaTrace {
  const isOfFullScale = basis === "full-scale";
  return {
    formula: isOfFullScale ? "E = 100 (P - P_ref) / P_full" : "E = 100 (P - P_ref) / P_ref",
    inputs: [
      { symbol: "P", label: "Demand that the meter indicates", value: indicated.toText(), unit: "kW" },
      { symbol: "P_ref", label: "Demand of the reference", value: reference.toText(), unit: "kW" },
      ...(isOfFullScale
        ? [{ symbol: "P_full", label: "Full scale of the meter", value: scale.toText(), unit: "kW" }]
        : []),
    ],
    result: {
      symbol: "E",
      label: "Error of demand",
      value: error.toText(),
      unit: isOfFullScale ? "% of full scale" : "% of reading",
    },
    source: isOfFullScale ? "F.A.C. 25-6.052(3)(a)" : "F.A.C. 25-6.052(1)(d), (3)(b)",
  };
}
