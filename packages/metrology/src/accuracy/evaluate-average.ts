import { Fraction } from "../fraction.ts";
import { judgeValue } from "../judgement/judge-value.ts";
import type { PercentRegistration } from "../units.ts";
import { averageFormula, roleSymbols } from "./average-formula.ts";
import { type AverageRole, averageRegistration } from "./average-registration.ts";
import type { PointResult } from "./evaluate-point.ts";
import type { AverageEvaluation, EvaluatePassInput, FormulaTrace } from "./pass-evaluation.ts";
import { percentErrorOf } from "./percent-error-of.ts";
import type { AverageRule, DecimalString, PlanPoint } from "./test-terms.ts";

const roleWords: Record<AverageRole, string> = {
  "full-load": "full load",
  "light-load": "light load",
  "power-factor": "power factor",
};

/** A complete point with its weight in the average. */
interface WeighedPoint {
  role: AverageRole;
  weight: DecimalString;
  registration: PercentRegistration;
  expandedUncertainty: Fraction | null;
}

/**
 * The average registration of a pass and its verdict. Only complete points enter it, and each role must stand at one
 * point of the plan: which of two full-load points to weigh is not for a program to choose.
 *
 * The expanded uncertainty of the average is the weighted mean of the points' own. All points lean on one standard,
 * so their uncertainties are taken as fully correlated, which never makes the result smaller than it is.
 *
 * @param input    the pass
 * @param rule     the averaging rule
 * @param results  evaluated points, in the order of the plan
 * @source the rule's citation; JCGM 100:2008, 5.2.2 note 1 (correlation 1: linear sum)
 */
export function evaluateAverage(
  input: EvaluatePassInput,
  rule: AverageRule,
  results: PointResult[],
): AverageEvaluation {
  const weighed: WeighedPoint[] = [];
  const problems: string[] = [];
  for (const { role, weight } of rule.weights) {
    const index = soleIndexOf(role, input.points);
    const result = typeof index === "number" ? results[index] : undefined;
    if (typeof index === "string") {
      problems.push(index);
    } else if (result !== undefined && result.registration !== null) {
      const { registration, expandedUncertainty } = result;
      weighed.push({ role, weight, registration, expandedUncertainty });
    }
  }
  const registrations = Object.fromEntries(weighed.map(({ role, registration }) => [role, registration]));
  const average = averageRegistration(rule, registrations);
  if (average.kind === "missing-points") {
    return withoutAverage(input, rule, average.missing, problems);
  }
  const expandedUncertainty = uncertaintyOfAverage(weighed);
  return {
    ...judgeValue({
      value: average.registration,
      limits: input.averageLimits,
      rule: input.decisionRule,
      expandedUncertainty,
    }),
    averageRule: rule,
    registrationPercent: average.registration.toText(),
    errorPercent: percentErrorOf(average.registration).toText(),
    expandedUncertaintyPercent: expandedUncertainty?.toText() ?? null,
    missingRoles: [],
    howComputed: traceOf(rule, weighed, average.registration),
  };
}

function soleIndexOf(role: AverageRole, points: PlanPoint[]): number | string {
  const indexes = points.flatMap((point, index) => (point.role === role ? [index] : []));
  const [only] = indexes;
  if (only === undefined) {
    return `The plan has no ${roleWords[role]} point.`;
  }
  return indexes.length === 1
    ? only
    : `The plan has ${indexes.length} ${roleWords[role]} points; one is needed.`;
}

function withoutAverage(
  input: EvaluatePassInput,
  rule: AverageRule,
  missingRoles: AverageRole[],
  problems: string[],
): AverageEvaluation {
  const missing = missingRoles.map((role) => roleWords[role]).join(", ");
  return {
    verdict: input.averageLimits === null ? "not-judged" : "undecided",
    limits: input.averageLimits,
    acceptanceLimits: null,
    marginPercent: null,
    falseAcceptProbability: null,
    rule: input.decisionRule,
    reason: [`${rule.label} still needs: ${missing}.`, ...problems].join(" "),
    averageRule: rule,
    registrationPercent: null,
    errorPercent: null,
    expandedUncertaintyPercent: null,
    missingRoles,
    howComputed: null,
  };
}

function uncertaintyOfAverage(weighed: WeighedPoint[]): Fraction | null {
  let sum = Fraction.of(0n);
  let total = Fraction.of(0n);
  for (const { weight, expandedUncertainty } of weighed) {
    if (expandedUncertainty === null) {
      return null;
    }
    sum = sum.plus(expandedUncertainty.times(weight));
    total = total.plus(weight);
  }
  return sum.dividedBy(total);
}

function traceOf(rule: AverageRule, weighed: WeighedPoint[], average: PercentRegistration): FormulaTrace {
  return {
    formula: averageFormula(rule.weights),
    inputs: weighed.map(({ role, registration }) => ({
      symbol: roleSymbols[role],
      label: `Registration, ${roleWords[role]}`,
      value: registration.toText(),
      unit: "%",
    })),
    result: { symbol: "R_avg", label: "Average registration", value: average.toText(), unit: "%" },
    source: rule.source,
  };
}
