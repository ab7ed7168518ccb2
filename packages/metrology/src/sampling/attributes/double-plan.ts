import type { PlanRefusal } from "../sampling-terms.ts";
import { type AttributesPlan, type AttributesPlanRequest, attributesPlan } from "./attributes-plan.ts";
import { doubleSampleSizes, doubleSeries } from "./milstd105e-double-tables.ts";
import { resolveCell } from "./resolve-cell.ts";

/** A double sampling plan by attributes: the numbers of the second stage count both samples together. */
export interface DoublePlan {
  kind: "double-plan";
  letter: string;
  planLetter: string;
  n1: number;
  ac1: number;
  re1: number;
  n2: number;
  ac2: number;
  re2: number;
  /** Both samples reach the size of the lot: all may come to be inspected. */
  allInspected: boolean;
  /** How far the table behind this plan was confirmed. */
  standing: "two sources" | "one source, consistent with the single plans";
}

/** The standard's asterisk: no double plan, use the single plan. */
export interface UseSinglePlan {
  kind: "use-single-plan";
  single: AttributesPlan;
}

/**
 * Double sampling plan by attributes.
 *
 * @param request lot size, level, AQL and severity
 * @returns the double plan; the single plan where the table has an asterisk (Ac 0, or a sample too small to halve); or
 *   why there is none
 * @throws RangeError if the lot size is not a whole number of at least 0
 * @source MIL-STD-105E (10 May 1989), Tables III-A, III-B, III-C
 * @example
 * doublePlan({ lotSize: 20000, level: "I", aql: 0.25, inspection: "normal" })
 * // letter K, plan letter L, 125 and 125, Ac 0 Re 2, Ac 1 Re 2
 */
export function doublePlan(request: AttributesPlanRequest): DoublePlan | UseSinglePlan | PlanRefusal {
  const single = attributesPlan(request);
  if (single.kind === "refused") return single;
  const { planCell } = resolveCell(request.inspection, single.letter, request.aql);
  const size = doubleSampleSizes[request.inspection][single.planLetter];
  const series = doubleSeries[request.inspection][planCell];
  if (size === undefined || series === undefined) return { kind: "use-single-plan", single };
  const [ac1, re1, ac2, re2] = series;
  return {
    kind: "double-plan",
    letter: single.letter,
    planLetter: single.planLetter,
    n1: size,
    ac1,
    re1,
    n2: size,
    ac2,
    re2,
    allInspected: 2 * size >= request.lotSize,
    standing:
      request.inspection === "reduced" ? "one source, consistent with the single plans" : "two sources",
  };
}
