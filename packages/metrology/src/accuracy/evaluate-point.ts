import type { Fraction } from "../fraction.ts";
import { judgeValue } from "../judgement/judge-value.ts";
import type { Judgement } from "../judgement/judgement-terms.ts";
import type { PercentRegistration } from "../units.ts";
import { constantsAtPoint } from "./constants-at-point.ts";
import { correctionAtPoint, type TestConditions } from "./correction-at-point.ts";
import { evaluateRun } from "./evaluate-run.ts";
import { meanOfRuns } from "./mean-of-runs.ts";
import type { EntryRefusal, EvaluatePassInput, PointEvaluation, RunEvaluation } from "./pass-evaluation.ts";
import { percentErrorOf } from "./percent-error-of.ts";
import type { PlanPoint, RunEntry } from "./test-terms.ts";

export interface PointResult {
  evaluation: PointEvaluation;
  /** Exact mean of the runs; null unless the point is complete. */
  registration: PercentRegistration | null;
  /** Percent, at a coverage factor of 2; null when it is not known. */
  expandedUncertainty: Fraction | null;
  refusals: EntryRefusal[];
}

/**
 * Evaluates one point of a plan: each run, their mean, the standard's correction, the verdict. The mean of all runs
 * is judged, and only when every run that the plan asks for is there: one run cannot fail a point that is judged by
 * the mean of two.
 *
 * @param input       the pass that the point belongs to
 * @param conditions  its voltage and test amperes, read
 * @param point       the plan's point
 * @param runs        the runs entered for it, in order; may be empty
 */
export function evaluatePoint(
  input: EvaluatePassInput,
  conditions: TestConditions,
  point: PlanPoint,
  runs: RunEntry[],
): PointResult {
  const limits = point.limits[input.occasion] ?? null;
  const rule = input.decisionRule;
  const needsConstants = runs.some((run) => run.kind !== "registration");
  const { constants, refusals } = needsConstants
    ? { refusals: [], ...constantsAtPoint(input.meter, point) }
    : { constants: null, refusals: [] };
  const { correction, toApply, expandedUncertainty } = correctionAtPoint(input.standard, point, conditions);
  const results = runs.map((run, index) => evaluateRun(run, point, index, constants, toApply));
  const registrations = results.flatMap(({ registration }) => (registration === null ? [] : [registration]));
  const evaluations = results.map(({ evaluation }) => evaluation);
  const state =
    correction.kind === "refused" && registrations.length > 0 ? "refused" : stateOf(evaluations, point);
  const statistics = registrations.length === 0 ? null : meanOfRuns(registrations);
  const complete = state === "complete" && statistics !== null ? statistics.mean : null;
  const judgement: Judgement =
    complete !== null
      ? judgeValue({ value: complete, limits, rule, expandedUncertainty })
      : {
          verdict: limits === null ? "not-judged" : "undecided",
          limits,
          acceptanceLimits: null,
          marginPercent: null,
          falseAcceptProbability: null,
          rule,
          reason: whyOpen(state, correction.reason, registrations.length, point),
        };
  return {
    evaluation: {
      ...judgement,
      pointKey: point.key,
      label: point.label,
      state,
      runs: evaluations,
      runsAsked: point.runs,
      runsEvaluated: registrations.length,
      meanPercent: statistics?.mean.toText() ?? null,
      errorPercent: statistics === null ? null : percentErrorOf(statistics.mean).toText(),
      sampleStandardDeviationPercent:
        statistics?.sampleStandardDeviation?.toSignificantDigits(12).toFixed() ?? null,
      rangePercent: statistics?.range?.toText() ?? null,
      correction,
      expandedUncertaintyPercent: expandedUncertainty?.toText() ?? null,
    },
    registration: complete,
    expandedUncertainty,
    refusals: [...refusals, ...results.flatMap((result) => result.refusals)],
  };
}

function stateOf(runs: RunEvaluation[], point: PlanPoint): PointEvaluation["state"] {
  if (runs.some(({ state }) => state === "refused")) {
    return "refused";
  }
  const evaluated = runs.filter(({ state }) => state === "evaluated").length;
  if (runs.some(({ state }) => state === "incomplete")) {
    return "partial";
  }
  if (evaluated === 0) {
    return "missing";
  }
  return evaluated < point.runs ? "partial" : "complete";
}

function whyOpen(
  state: PointEvaluation["state"],
  correctionReason: string,
  evaluated: number,
  point: PlanPoint,
): string {
  if (state === "missing") {
    return `${point.label} is not entered.`;
  }
  if (state === "partial") {
    return `${point.label} has ${evaluated} of ${point.runs} ${point.runs === 1 ? "run" : "runs"}.`;
  }
  return evaluated > 0 ? correctionReason : `${point.label} cannot be taken as entered.`;
}
