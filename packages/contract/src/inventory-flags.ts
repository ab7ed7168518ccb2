import { z } from "zod";
import { idSchema, instantSchema, pageOf, pageQuery, personRefSchema, reasonSchema } from "./common.ts";
import { operation } from "./operation.ts";

/** Duplicates and nonsense in the inventory, each settled once: corrected, or right as it is. */

export const flagRuleNames = {
  "same-serial": "Same serial from two makers",
  "event-before-purchase": "Event before the purchase",
  "test-before-receipt": "Test before the meter came into the book",
  "type-disagrees": "Constants that disagree with the form",
} as const;
export type FlagRule = keyof typeof flagRuleNames;
const flagRules = Object.keys(flagRuleNames) as [FlagRule, ...FlagRule[]];

export const flagStates = ["open", "settled", "gone"] as const;

export const inventoryFlagSchema = z.object({
  number: z.int(),
  rule: z.enum(flagRules),
  meter: z.object({ id: idSchema, utilityNumber: z.string(), serial: z.string() }).nullable(),
  type: z.object({ id: idSchema, name: z.string() }).nullable(),
  sentence: z.string().describe("What does not fit"),
  others: z
    .array(z.object({ id: idSchema, utilityNumber: z.string(), maker: z.string() }))
    .max(20)
    .describe("Other meters of the same serial"),
  foundAt: instantSchema,
  state: z.enum(flagStates).describe("gone: no longer so, without anybody having settled it"),
  settlement: z
    .object({
      reason: z.string(),
      at: instantSchema,
      by: personRefSchema.nullable(),
      entryId: idSchema,
    })
    .nullable(),
});
export type InventoryFlag = z.infer<typeof inventoryFlagSchema>;

export const listInventoryFlags = operation({
  id: "inventoryFlags.list",
  summary: "What does not fit in the inventory, in the order in which it was found",
  method: "GET",
  path: "/inventory-flags",
  permission: "inventoryFlag.read",
  query: z.object({
    ...pageQuery,
    state: z.enum(flagStates).default("open"),
    rule: z.enum(flagRules).optional(),
    meterId: idSchema.optional(),
  }),
  reply: pageOf(inventoryFlagSchema),
});

export const settleInventoryFlag = operation({
  id: "inventoryFlags.settle",
  summary: "Settle a finding: it is right as it is, for a reason; the same figures are never raised again",
  method: "POST",
  path: "/inventory-flags/:number/settlement",
  permission: "inventoryFlag.settle",
  params: z.object({ number: z.coerce.number().int().min(1).max(2_147_483_647) }),
  body: z.strictObject({ id: idSchema, reason: reasonSchema }),
  reply: inventoryFlagSchema,
  status: 201,
  idempotent: true,
  problems: ["not-found", "already-exists", "refused-by-rule"],
});

export const inventoryCheckSchema = z.object({
  number: z.int(),
  askedAt: instantSchema,
  finishedAt: instantSchema.nullable(),
  found: z.int().nullable().describe("Findings that were new"),
  failure: z.string().nullable(),
});

export const startInventoryCheck = operation({
  id: "inventoryFlags.check",
  summary: "Look through the whole inventory anew, as a job",
  method: "POST",
  path: "/inventory-checks",
  permission: "inventoryFlag.settle",
  reply: inventoryCheckSchema,
  status: 202,
  idempotent: true,
});

export const getInventoryCheck = operation({
  id: "inventoryFlags.lastCheck",
  summary: "The newest look through the inventory; null before the first",
  method: "GET",
  path: "/inventory-checks/newest",
  permission: "inventoryFlag.read",
  reply: z.object({ check: inventoryCheckSchema.nullable() }),
});

export const inventoryFlagOperations = [
  listInventoryFlags,
  settleInventoryFlag,
  startInventoryCheck,
  getInventoryCheck,
];
