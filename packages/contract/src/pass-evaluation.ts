import type { PassEvaluation } from "@sealbook/metrology/accuracy/pass-evaluation";
import { z } from "zod";
import { averageRuleSchema, decisionRuleSchema, demandLimitsSchema } from "./profiles.ts";
import { certifiedPointSchema } from "./standards.ts";
import { demandBasisSchema, registrationLimitsSchema } from "./test-plans.ts";

/** What metrology makes of one pass, as it travels; the words are those of metrology's PassEvaluation. */

const verdictSchema = z.enum(["pass", "fail", "undecided", "not-judged"]);

const judgement = {
  verdict: verdictSchema,
  limits: registrationLimitsSchema.nullable(),
  acceptanceLimits: z.object({ minPercent: z.string(), maxPercent: z.string() }).nullable(),
  marginPercent: z.string().nullable().describe("Distance to the nearest limit; negative outside it"),
  falseAcceptProbability: z.string().nullable(),
  rule: decisionRuleSchema,
  reason: z.string(),
};

const figureSchema = z.object({ symbol: z.string(), label: z.string(), value: z.string(), unit: z.string() });

/** How a figure came about: formula, inputs, result, source. */
export const formulaTraceSchema = z.object({
  formula: z.string(),
  inputs: z.array(figureSchema),
  result: figureSchema,
  source: z.string(),
});

const runEvaluationSchema = z.discriminatedUnion("state", [
  z.object({
    state: z.literal("evaluated"),
    uncorrectedPercent: z.string(),
    registrationPercent: z.string(),
    errorPercent: z.string(),
    howComputed: z.array(formulaTraceSchema),
  }),
  z.object({ state: z.literal("not-entered") }),
  z.object({ state: z.literal("incomplete"), missingFields: z.array(z.string()) }),
  z.object({ state: z.literal("refused") }),
]);

const correctionSchema = z.discriminatedUnion("kind", [
  z.object({
    kind: z.literal("applied"),
    standardRegistrationPercent: z.string(),
    between: z.tuple([certifiedPointSchema, certifiedPointSchema]).readonly(),
    reason: z.string(),
  }),
  z.object({ kind: z.literal("already-applied-by-bench"), reason: z.string() }),
  z.object({ kind: z.literal("uncorrected-outside-range"), reason: z.string() }),
  z.object({ kind: z.literal("no-certified-points"), reason: z.string() }),
  z.object({ kind: z.literal("refused"), reason: z.string() }),
  z.object({ kind: z.literal("no-standard"), reason: z.string() }),
]);

export const pointEvaluationSchema = z.object({
  ...judgement,
  pointKey: z.string(),
  label: z.string(),
  state: z.enum(["missing", "partial", "refused", "complete"]),
  runs: z.array(runEvaluationSchema),
  runsAsked: z.int(),
  runsEvaluated: z.int(),
  meanPercent: z.string().nullable(),
  errorPercent: z.string().nullable(),
  sampleStandardDeviationPercent: z.string().nullable(),
  rangePercent: z.string().nullable(),
  correction: correctionSchema,
  expandedUncertaintyPercent: z.string().nullable(),
});

const demandEvaluationSchema = z.object({
  reading: z.object({
    indicatedKw: z.string(),
    referenceKw: z.string(),
    fullScaleKw: z.string().nullable(),
    loadPercent: z.string().nullable().optional(),
  }),
  basis: demandBasisSchema,
  errorPercent: z.string().nullable().describe("Percent of the basis, positive when the meter reads high"),
  limits: demandLimitsSchema.nullable(),
  marginPercent: z.string().nullable().describe("Distance to the limit; negative beyond it"),
  rule: decisionRuleSchema,
  verdict: verdictSchema,
  reason: z.string(),
  howComputed: formulaTraceSchema.nullable(),
});

export const passEvaluationSchema = z.object({
  points: z.array(pointEvaluationSchema),
  missingPoints: z.array(z.string()),
  average: z
    .object({
      ...judgement,
      averageRule: averageRuleSchema,
      registrationPercent: z.string().nullable(),
      errorPercent: z.string().nullable(),
      expandedUncertaintyPercent: z.string().nullable(),
      missingRoles: z.array(z.enum(["full-load", "light-load", "power-factor"])),
      howComputed: formulaTraceSchema.nullable(),
    })
    .nullable(),
  creep: z.object({ verdict: verdictSchema, reason: z.string() }),
  // An evaluation on record from version 1 of the arithmetic stands without these two.
  startingLoad: z
    .object({ verdict: verdictSchema, reason: z.string() })
    .nullable()
    .default(null)
    .describe("Null where the plan does not ask for the starting load"),
  demand: z
    .array(demandEvaluationSchema)
    .nullable()
    .default(null)
    .describe("Every reading; null where the plan does not ask for demand"),
  refusals: z.array(
    z.object({
      pointKey: z.string().nullable(),
      runIndex: z.int().nullable(),
      demandIndex: z.int().optional(),
      field: z.string(),
      text: z.string(),
      reason: z.string(),
    }),
  ),
  verdict: z.enum(["pass", "fail", "incomplete"]),
  reasons: z.array(
    z.object({
      about: z.enum(["point", "average", "creep", "starting-load", "demand", "entry", "plan"]),
      pointKey: z.string().nullable(),
      verdict: verdictSchema,
      reason: z.string(),
      limits: registrationLimitsSchema.nullable(),
      marginPercent: z.string().nullable(),
    }),
  ),
}) satisfies z.ZodType<PassEvaluation>;
