import { evaluateDemandReading } from "./evaluate-demand-reading.ts";
import type { DemandEvaluation, EntryRefusal, VerdictReason } from "./pass-evaluation.ts";
import type { DecisionRule, DemandReading, DemandRule } from "./test-terms.ts";

export interface DemandResult {
  evaluations: DemandEvaluation[];
  refusals: EntryRefusal[];
  /** What demand says to the verdict of the pass; never empty. */
  grounds: VerdictReason[];
}

/**
 * Every demand reading of a pass, and what they say to its verdict. Where there are limits, at least one reading must
 * stand where they hold; without one the pass stays open.
 *
 * @param readings      as entered; may be empty or partial
 * @param rule          basis and limits, as the plan asks and the profile gives them
 * @param decisionRule  the profile's
 * @source evaluateDemandReading
 */
export function evaluateDemand(
  readings: readonly DemandReading[],
  rule: DemandRule,
  decisionRule: DecisionRule,
): DemandResult {
  const results = readings.map((reading) => evaluateDemandReading(reading, rule, decisionRule));
  const evaluations = results.map(({ evaluation }) => evaluation);
  const grounds: VerdictReason[] = evaluations.map(({ verdict, reason, marginPercent }, index) => ({
    ...ground,
    verdict,
    reason: `Demand, reading ${index + 1}: ${reason}`,
    marginPercent,
  }));
  if (evaluations.length === 0) {
    grounds.push({ ...ground, reason: "The plan asks for demand, and no reading is entered." });
  } else if (rule.limits !== null && evaluations.every(({ verdict }) => verdict === "not-judged")) {
    grounds.push({ ...ground, reason: "No reading of demand was taken where its limit holds." });
  }
  return {
    evaluations,
    refusals: results.flatMap(({ refused }, demandIndex) =>
      refused.map((refusal) => ({ pointKey: null, runIndex: null, demandIndex, ...refusal })),
    ),
    grounds,
  };
}

const ground = {
  about: "demand",
  pointKey: null,
  verdict: "undecided",
  limits: null,
  marginPercent: null,
} as const;
