import type { BillRule } from "./bill-rule.ts";
import { michiganBillRule } from "./rules/michigan.ts";
import { newJerseyBillRule } from "./rules/new-jersey.ts";
import { oklahomaBillRule } from "./rules/oklahoma.ts";
import { pennsylvaniaBillRule } from "./rules/pennsylvania.ts";

/** The bill-adjustment rules that come with the product; keys are unique. */
export const shippedBillRules: readonly BillRule[] = [
  michiganBillRule,
  newJerseyBillRule,
  oklahomaBillRule,
  pennsylvaniaBillRule,
];
