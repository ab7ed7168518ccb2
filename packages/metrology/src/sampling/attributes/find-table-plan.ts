import { refusePlan } from "../refuse-plan.ts";
import { requireWhole } from "../require-whole.ts";
import type { PlanRefusal } from "../sampling-terms.ts";
import type { PlanTable } from "./plan-table.ts";

/** The plan of a lot out of a plan table. */
export interface TablePlan {
  kind: "table-plan";
  n: number;
  ac: number;
  re: number;
  /** Units to draw in all, the sample and its spares, held to the lot. */
  drawn: number;
  allInspected: boolean;
  source: string;
}

/**
 * Sampling plan of a lot out of a table that a rule profile carries.
 *
 * @param table the table, parsed
 * @param lotSize units in the lot, a whole number of at least 0
 * @param severity normal, or tightened where the table has it
 * @returns the plan, or why there is none
 * @throws RangeError if the lot size is not a whole number of at least 0
 * @source the table's own
 * @example findTablePlan(franceInServicePlans, 9999, "normal") // n 56, Ac 5, Re 6, drawn 85 (Annexe 7)
 */
export function findTablePlan(
  table: PlanTable,
  lotSize: number,
  severity: "normal" | "tightened",
): TablePlan | PlanRefusal {
  requireWhole(lotSize, 0, "the lot size");
  const row = table.rows.find(
    ({ lotMin, lotMax }) => lotSize >= lotMin && (lotMax === null || lotSize <= lotMax),
  );
  if (row === undefined) {
    return refusePlan("lot-too-small", `${table.name} has no row for a lot of ${lotSize} (${table.source}).`);
  }
  const plan = row[severity];
  if (plan === undefined) {
    return refusePlan("severity-not-available", `${table.name} has no ${severity} plan (${table.source}).`);
  }
  return {
    kind: "table-plan",
    n: Math.min(plan.n, lotSize),
    ac: plan.ac,
    re: plan.ac + 1,
    drawn: Math.min(plan.drawn ?? plan.n, lotSize),
    allInspected: plan.n >= lotSize,
    source: table.source,
  };
}
