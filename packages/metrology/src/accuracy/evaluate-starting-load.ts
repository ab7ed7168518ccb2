import type { StartingLoadEvaluation } from "./pass-evaluation.ts";
import type { StartingLoadResult, StartingLoadRule } from "./test-terms.ts";

const connectionWords = { direct: "connected directly", transformer: "connected through transformers" };

/**
 * Verdict on the starting load: the meter begins to register at a small current, at power factor 1, and goes on. A
 * meter that does not start fails: the plan asks for it, whether or not a rule names the current.
 *
 * @param result  what was seen; undefined while nothing is said
 * @param rule    the starting current, where a rule gives it, and who asks
 * @returns pass, fail, or undecided while it was not checked
 * @source order of 1 August 2013 (France), Annexe 4, item 2; the rule's own citation
 * @example evaluateStartingLoad("does-not-start", rule).verdict // "fail"
 */
export function evaluateStartingLoad(
  result: StartingLoadResult | undefined,
  rule: StartingLoadRule,
): StartingLoadEvaluation {
  if (result === undefined || result === "not-checked") {
    return {
      verdict: "undecided",
      reason: `The plan asks whether the meter starts at ${loadWords(rule)}, and it was not checked.`,
    };
  }
  return result === "starts"
    ? { verdict: "pass", reason: `The meter starts at ${loadWords(rule)}.` }
    : { verdict: "fail", reason: `The meter does not start at ${loadWords(rule)}.` };
}

function loadWords({ currents, source }: StartingLoadRule): string {
  const each = currents.map(
    ({ connection, percentOfReferenceCurrent }) =>
      `${percentOfReferenceCurrent} % of the reference current when ${connectionWords[connection]}`,
  );
  return `its starting load${each.length === 0 ? "" : `, ${each.join(", ")}`} (${source})`;
}
