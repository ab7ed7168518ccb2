import type { CreepEvaluation } from "./pass-evaluation.ts";
import type { CreepResult } from "./test-terms.ts";

/**
 * Verdict on creep, registration at no load. Creep that was not checked says nothing: it stops nothing where nobody
 * asks for it, and leaves the pass open where the plan does.
 *
 * @param creep    what was seen
 * @param allowed  does the profile let a creeping meter pass?
 * @param isAsked  does the plan ask for the creep test?
 * @source the rule profile's creep rule
 */
export function evaluateCreep(creep: CreepResult, allowed: boolean, isAsked: boolean): CreepEvaluation {
  if (creep === "not-checked") {
    return isAsked
      ? { verdict: "undecided", reason: "The plan asks for creep, and it was not checked." }
      : { verdict: "not-judged", reason: "Creep was not checked." };
  }
  if (creep === "none") {
    return { verdict: "pass", reason: "The meter does not creep." };
  }
  return allowed
    ? { verdict: "not-judged", reason: "The meter creeps; the profile does not judge creep." }
    : { verdict: "fail", reason: "The meter creeps: it registers at no load." };
}
