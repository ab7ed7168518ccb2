import { z } from "zod";
import {
  idParams,
  idSchema,
  instantSchema,
  lineSchema,
  pageOf,
  pageQuery,
  positiveDecimalSchema,
  reasonSchema,
} from "./common.ts";
import { operation } from "./operation.ts";

export const occasions = ["new", "in-service", "as-left", "request"] as const;
export const occasionNames: Record<(typeof occasions)[number], string> = {
  new: "New meter",
  "in-service": "In service",
  "as-left": "As left",
  request: "Request or referee",
};

export const circuitNames = {
  series: "All circuits in series",
  "element-a": "Element A alone",
  "element-b": "Element B alone",
  "element-c": "Element C alone",
  "common-coil": "Common coil alone",
  "one-coil": "One current coil alone",
} as const;

const circuitsSchema = z.enum(["series", "element-a", "element-b", "element-c", "common-coil", "one-coil"]);

export const registrationLimitsSchema = z.strictObject({
  minPercent: positiveDecimalSchema,
  maxPercent: positiveDecimalSchema,
  source: z.string().min(1).max(300),
});

/** One point of a plan; the words are those of metrology's PlanPoint. */
export const planPointSchema = z.strictObject({
  key: z.string().regex(/^[A-Z0-9][A-Z0-9-]{0,11}$/, "short capital name such as FL or LL-A"),
  label: lineSchema(60),
  loadPercent: positiveDecimalSchema.describe("Percent of test amperes"),
  powerFactor: positiveDecimalSchema.refine((text) => Number(text) <= 1, "must be at most 1"),
  powerFactorSense: z.enum(["unity", "lagging", "leading"]),
  quantity: z.enum(["Wh", "VARh", "VAh"]),
  direction: z.enum(["delivered", "received"]),
  circuits: circuitsSchema,
  counts: positiveDecimalSchema.describe("Counts in one run"),
  countConstant: z.enum(["Kh", "Kt"]),
  runs: z.int().min(1).max(20),
  role: z.enum(["full-load", "light-load", "power-factor", "none"]),
  limits: z.partialRecord(z.enum(occasions), registrationLimitsSchema),
});

/** What a demand error is a percentage of; the words are those of metrology's DemandBasis. */
export const demandBasisSchema = z.enum(["full-scale", "reading"]);

/** The stored body of a test plan; `format` changes with a migration only. */
export const testPlanBodySchema = z.strictObject({
  format: z.literal(1),
  points: z.array(planPointSchema).min(1).max(24),
  creep: z.enum(["asked", "not-asked"]),
  // A body on record from before these two were asked for stands without them.
  startingLoad: z.enum(["asked", "not-asked"]).default("not-asked"),
  demand: z
    .strictObject({ basis: demandBasisSchema })
    .nullable()
    .default(null)
    .describe("What the error of demand is a percentage of; null where demand is not asked for"),
  conditions: z
    .array(z.enum(["volts", "amperes", "temperature"]))
    .describe("Conditions that the plan asks for"),
  preconditions: z.array(lineSchema(200)).max(12).describe("What the tester confirms before the test"),
  standardRank: z.enum(["any", "reference"]).describe("Which rank of standard the plan accepts"),
  appliesVoltage: z.boolean().describe("Whether the safety caution is shown"),
});
export type TestPlanBody = z.infer<typeof testPlanBodySchema>;

/** A plan never changes: a change is a new revision, and tests keep the one they were made under. */
export const testPlanSchema = z.object({
  id: idSchema,
  code: z.string(),
  revision: z.int(),
  name: z.string(),
  body: testPlanBodySchema,
  recordedAt: instantSchema,
  current: z.boolean(),
});
export type TestPlan = z.infer<typeof testPlanSchema>;

export const listTestPlans = operation({
  id: "testPlans.list",
  summary: "Test plans, current revisions",
  method: "GET",
  path: "/test-plans",
  permission: "testPlan.read",
  query: z.object({ ...pageQuery }),
  reply: pageOf(testPlanSchema),
});

export const getTestPlan = operation({
  id: "testPlans.get",
  summary: "One revision of a test plan",
  method: "GET",
  path: "/test-plans/:id",
  permission: "testPlan.read",
  params: idParams,
  reply: testPlanSchema,
  problems: ["not-found"],
});

export const addTestPlan = operation({
  id: "testPlans.add",
  summary: "Add a test plan, or a new revision of one (same code, next revision)",
  method: "POST",
  path: "/test-plans",
  permission: "testPlan.manage",
  body: z.strictObject({
    id: idSchema,
    code: z.string().regex(/^[A-Z0-9][A-Z0-9-]{1,39}$/, "capital letters, digits and dashes"),
    revision: z.int().min(1).max(999),
    name: lineSchema(120),
    body: testPlanBodySchema,
    reason: reasonSchema,
  }),
  reply: testPlanSchema,
  status: 201,
  idempotent: true,
  problems: ["already-exists", "refused-by-rule"],
});

export const testPlanOperations = [listTestPlans, getTestPlan, addTestPlan];
