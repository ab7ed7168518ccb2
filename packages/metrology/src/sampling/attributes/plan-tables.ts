import { franceInServicePlans } from "./france-in-service-plans.ts";
import type { PlanTable } from "./plan-table.ts";

/** Plan tables that a rule profile may name instead of carrying them. */
export const planTables = { "france-in-service": franceInServicePlans } as const satisfies Record<
  string,
  PlanTable
>;

export type PlanTableName = keyof typeof planTables;
