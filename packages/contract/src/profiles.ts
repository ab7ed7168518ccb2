import { z } from "zod";
import { idParams, idSchema, instantSchema, pageOf, pageQuery } from "./common.ts";
import { operation } from "./operation.ts";
import { demandBasisSchema, occasions, registrationLimitsSchema } from "./test-plans.ts";

export const averageRuleSchema = z.object({
  label: z.string(),
  weights: z.array(
    z.object({ role: z.enum(["full-load", "light-load", "power-factor"]), weight: z.string() }),
  ),
  source: z.string(),
});

export const decisionRuleSchema = z.discriminatedUnion("kind", [
  z.object({ kind: z.literal("simple"), source: z.string() }),
  z.object({ kind: z.literal("guard-band"), uncertaintyMultiple: z.string(), source: z.string() }),
  z.object({ kind: z.literal("false-accept"), maxProbability: z.string(), source: z.string() }),
]);

/** The largest error of demand, either way and inclusive; the words are those of metrology's DemandLimits. */
export const demandLimitsSchema = z.object({
  basis: demandBasisSchema,
  maxErrorPercent: z.string(),
  fromPercent: z
    .string()
    .describe("Percent of full scale, or of test amperes where the basis is the reading"),
  toPercent: z.string(),
  source: z.string(),
});

/** What a rule profile says about judging one type of meter: resolved from the profile by metrology. */
export const judgingRulesSchema = z.object({
  average: averageRuleSchema
    .nullable()
    .describe("How the average is made; null where the profile judges none"),
  averageLimits: z.partialRecord(z.enum(occasions), registrationLimitsSchema),
  pointLimits: z
    .array(
      z.object({
        role: z.enum(["full-load", "light-load", "power-factor"]),
        occasion: z.enum(occasions),
        limits: registrationLimitsSchema,
      }),
    )
    .describe("Limits of single points by role, where the profile has them"),
  decisionRule: decisionRuleSchema,
  creepAllowed: z.boolean(),
  creepSource: z.string(),
  startingLoad: z
    .partialRecord(
      z.enum(occasions),
      z.object({
        currents: z.array(
          z.object({ connection: z.enum(["direct", "transformer"]), percentOfReferenceCurrent: z.string() }),
        ),
        source: z.string(),
      }),
    )
    .describe("Starting currents of the meter's class, where the profile has them"),
  demandLimits: z.array(z.object({ occasion: z.enum(occasions), limits: demandLimitsSchema })),
  outsideCertifiedRange: z.enum(["refuse", "take-uncorrected"]),
});
export type JudgingRules = z.infer<typeof judgingRulesSchema>;

export const ruleProfileViewSchema = z.object({
  id: idSchema,
  key: z.string(),
  version: z.string(),
  title: z.string(),
  place: z.string(),
  citations: z.array(
    z.object({ title: z.string(), where: z.string(), dateRead: z.string(), howRead: z.string() }),
  ),
  caution: z.string().describe("Verify against the current text; local rules govern"),
});

export const ruleProfileSchema = ruleProfileViewSchema.extend({
  recordedAt: instantSchema,
  body: z.string().describe("The whole profile as JSON"),
});
export type RuleProfileView = z.infer<typeof ruleProfileSchema>;

export const listProfiles = operation({
  id: "profiles.list",
  summary: "Rule profiles, newest versions",
  method: "GET",
  path: "/profiles",
  permission: "profile.read",
  query: z.object({ ...pageQuery }),
  reply: pageOf(ruleProfileViewSchema),
});

export const getProfile = operation({
  id: "profiles.get",
  summary: "One version of a rule profile, whole",
  method: "GET",
  path: "/profiles/:id",
  permission: "profile.read",
  params: idParams,
  reply: ruleProfileSchema,
  problems: ["not-found"],
});

export const profileOperations = [listProfiles, getProfile];
