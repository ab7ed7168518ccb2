import type { PlanRefusal } from "./sampling-terms.ts";

/**
 * A refusal to give a sampling plan.
 *
 * @param reason the word programs switch on
 * @param sentence what a quality engineer reads, a whole sentence
 * @returns the refusal
 */
export function refusePlan(reason: PlanRefusal["reason"], sentence: string): PlanRefusal {
  return { kind: "refused", reason, sentence };
}
