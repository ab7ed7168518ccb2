import { evaluateAverage } from "./evaluate-average.ts";
import { evaluateCreep } from "./evaluate-creep.ts";
import { type DemandResult, evaluateDemand } from "./evaluate-demand.ts";
import { evaluatePoint, type PointResult } from "./evaluate-point.ts";
import { evaluateStartingLoad } from "./evaluate-starting-load.ts";
import type {
  AverageEvaluation,
  CreepEvaluation,
  EntryRefusal,
  EvaluatePassInput,
  PassEvaluation,
  StartingLoadEvaluation,
  VerdictReason,
} from "./pass-evaluation.ts";
import { readPositive } from "./read-positive.ts";
import type { PlanPoint, PointEntry, RunEntry } from "./test-terms.ts";

/**
 * Evaluates one pass of a meter's accuracy test, as found or as left: every run, every point, the average, creep,
 * the starting load and demand where the plan asks for them, and the verdict. The client calls it at every keystroke and the server before it stores, so what a technician saw is
 * what the record says. Figures are exact fractions inside and decimals of 12 significant digits outside.
 *
 * A fail stands as soon as one judged thing fails. A pass needs every point and run of the plan, the average where
 * one is asked for, an answer to creep and starting load and a reading of demand where the plan asks, and at least one
 * measured thing that was judged. Anything else is incomplete.
 *
 * @param input  the plan, the meter, the standard, the rules and the entry, which may be partial
 * @returns figures as decimal strings with their formulas, verdicts with limit, source, margin and rule, and every
 *   field that cannot be taken
 * @throws RangeError if the plan repeats a key, or a plan, profile or certificate carries a broken number: those are
 *   checked where they are made, not where they are used
 * @source the functions it calls; the decision rule and limits carry their own citations
 */
export function evaluatePass(input: EvaluatePassInput): PassEvaluation {
  requireDistinctKeys(input.points);
  const { conditions, refusals: conditionRefusals } = readConditions(input);
  const { runsOf, refusals: entryRefusals } = readEntries(input);
  const results = input.points.map((point) =>
    evaluatePoint(input, conditions, point, runsOf.get(point.key) ?? []),
  );
  const average = input.average === null ? null : evaluateAverage(input, input.average, results);
  const creep = evaluateCreep(input.entry.creep, input.creepAllowed, input.asked?.creep ?? false);
  const startingLoadRule = input.asked?.startingLoad ?? null;
  const startingLoad =
    startingLoadRule === null ? null : evaluateStartingLoad(input.entry.startingLoad, startingLoadRule);
  const demandRule = input.asked?.demand ?? null;
  const demand =
    demandRule === null ? null : evaluateDemand(input.entry.demand ?? [], demandRule, input.decisionRule);
  const refusals = [
    ...conditionRefusals,
    ...entryRefusals,
    ...results.flatMap((result) => result.refusals),
    ...(demand?.refusals ?? []),
  ];
  return {
    points: results.map(({ evaluation }) => evaluation),
    missingPoints: results.flatMap(({ evaluation }) =>
      evaluation.state === "missing" ? [evaluation.pointKey] : [],
    ),
    average,
    creep,
    startingLoad,
    demand: demand?.evaluations ?? null,
    refusals,
    ...overallVerdict(results, { average, creep, startingLoad, demand }, refusals),
  };
}

function requireDistinctKeys(points: PlanPoint[]): void {
  if (new Set(points.map(({ key }) => key)).size !== points.length) {
    throw new RangeError("a plan names each of its points once");
  }
}

function readConditions(input: EvaluatePassInput) {
  const refusals: EntryRefusal[] = [];
  const read = (field: "volts" | "testAmperes") => {
    const number = readPositive(input[field]);
    if (number.kind === "refused") {
      refusals.push({ pointKey: null, runIndex: null, field, text: input[field], reason: number.reason });
    }
    return number.kind === "number" ? number.value : null;
  };
  return { conditions: { volts: read("volts"), testAmperes: read("testAmperes") }, refusals };
}

function readEntries(input: EvaluatePassInput) {
  const planned = new Set(input.points.map(({ key }) => key));
  const runsOf = new Map<string, RunEntry[]>();
  const refusals: EntryRefusal[] = [];
  const refuse = ({ pointKey }: PointEntry, reason: string) =>
    refusals.push({ pointKey, runIndex: null, field: "pointKey", text: pointKey, reason });
  for (const entry of input.entry.points) {
    if (!planned.has(entry.pointKey)) {
      refuse(entry, "The plan has no such point.");
    } else if (runsOf.has(entry.pointKey)) {
      refuse(entry, "This point is entered twice; only the first is taken.");
    } else {
      runsOf.set(entry.pointKey, entry.runs);
    }
  }
  return { runsOf, refusals };
}

interface JudgedBesidePoints {
  average: AverageEvaluation | null;
  creep: CreepEvaluation;
  startingLoad: StartingLoadEvaluation | null;
  demand: DemandResult | null;
}

function overallVerdict(
  results: PointResult[],
  { average, creep, startingLoad, demand }: JudgedBesidePoints,
  refusals: EntryRefusal[],
): Pick<PassEvaluation, "verdict" | "reasons"> {
  const judged: VerdictReason[] = results.map(({ evaluation }) => ({
    about: "point",
    pointKey: evaluation.pointKey,
    verdict: evaluation.verdict,
    reason: `${evaluation.label}: ${evaluation.reason}`,
    limits: evaluation.limits,
    marginPercent: evaluation.marginPercent,
  }));
  if (average !== null) {
    const { verdict, limits, marginPercent } = average;
    const reason = `Average, ${average.averageRule.label}: ${average.reason}`;
    judged.push({ about: "average", pointKey: null, verdict, reason, limits, marginPercent });
  }
  judged.push({ about: "creep", pointKey: null, ...creep, limits: null, marginPercent: null });
  if (startingLoad !== null) {
    judged.push({
      about: "starting-load",
      pointKey: null,
      ...startingLoad,
      limits: null,
      marginPercent: null,
    });
  }
  judged.push(...(demand?.grounds ?? []));

  const failed = judged.filter(({ verdict }) => verdict === "fail");
  if (failed.length > 0) {
    return { verdict: "fail", reasons: failed };
  }
  const open = [
    ...openReasons(judged, results, average),
    ...refusals.filter(isOfNoReading).map(refusalReason),
  ];
  if (open.length > 0) {
    return { verdict: "incomplete", reasons: open };
  }
  const passed = judged.filter(({ verdict }) => verdict === "pass");
  if (passed.every(({ about }) => about === "creep" || about === "starting-load")) {
    return { verdict: "incomplete", reasons: [nothingJudged] };
  }
  return { verdict: "pass", reasons: passed };
}

/** What keeps a pass open: undecided verdicts, and points or an average that are asked for but not judged. */
function openReasons(
  judged: VerdictReason[],
  results: PointResult[],
  average: AverageEvaluation | null,
): VerdictReason[] {
  const unfinished = new Set(
    results.flatMap(({ evaluation }) => (evaluation.state === "complete" ? [] : [evaluation.pointKey])),
  );
  const averageMissing = average !== null && average.registrationPercent === null;
  return judged.filter(
    ({ about, pointKey, verdict }) =>
      verdict === "undecided" ||
      (pointKey !== null && unfinished.has(pointKey)) ||
      (about === "average" && averageMissing),
  );
}

/** A demand reading that cannot be taken is a ground of its own already. */
function isOfNoReading({ demandIndex }: EntryRefusal): boolean {
  return demandIndex === undefined;
}

function refusalReason({ pointKey, reason }: EntryRefusal): VerdictReason {
  return { about: "entry", pointKey, verdict: "undecided", reason, limits: null, marginPercent: null };
}

const nothingJudged: VerdictReason = {
  about: "plan",
  pointKey: null,
  verdict: "not-judged",
  reason: "Nothing was judged: neither the plan nor the profile gives limits for this occasion.",
  limits: null,
  marginPercent: null,
};
