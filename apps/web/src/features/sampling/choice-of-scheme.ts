import { franceInServicePlans } from "@sealbook/metrology/sampling/attributes/france-in-service-plans";
import type { SamplingScheme } from "@sealbook/metrology/sampling/decision/sampling-scheme";
import type { PlanChoice } from "./plan-standards.ts";

/**
 * The part of a plan chooser's address that asks for a scheme's own plan.
 *
 * @param plan the plan of a scheme on record
 * @returns tables, level and AQL; null for a table of plans that the chooser does not have
 */
export function choiceOfScheme(
  plan: SamplingScheme["plan"],
): { standard: PlanChoice["standard"]; level: string; aql: string } | null {
  switch (plan.kind) {
    case "attributes":
      return { standard: "attributes", level: plan.level, aql: String(Number(plan.aqlPercent)) };
    case "variables":
      return {
        standard: plan.edition === "MIL-STD-414" ? "milstd-414" : "z1.9",
        level: plan.level,
        aql: String(Number(plan.aqlPercent)),
      };
    case "plan-table":
      return plan.table.source === franceInServicePlans.source
        ? { standard: "france-in-service", level: "", aql: "" }
        : null;
  }
}
