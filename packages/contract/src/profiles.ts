import { z } from "zod";
import {
  dateSchema,
  idParams,
  idSchema,
  instantSchema,
  lineSchema,
  pageOf,
  pageQuery,
  personRefSchema,
  reasonSchema,
} from "./common.ts";
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

/**
 * Where a version stands: proposed and not yet decided; in force on the shop's date of today; waiting for its date;
 * superseded by a version that was approved for a later date; declined.
 */
export const profileStandings = ["proposed", "in-force", "waiting", "superseded", "declined"] as const;
export type ProfileStanding = (typeof profileStandings)[number];

export const profileDecisionSchema = z.object({
  outcome: z.enum(["approved", "declined"]),
  effectiveFrom: dateSchema
    .nullable()
    .describe("First local date of tests that it judges; null from the beginning. Of an approval only"),
  reason: z.string(),
  decidedBy: personRefSchema.nullable().describe("null is the service itself: the profile came with it"),
  decidedAt: instantSchema,
});
export type ProfileDecision = z.infer<typeof profileDecisionSchema>;

/** Which version of whose rules, and the texts behind it. */
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

/** A version as lists show it: where it stands, who proposed it, who decided. */
export const ruleProfileRowSchema = ruleProfileViewSchema.extend({
  standing: z.enum(profileStandings),
  decision: profileDecisionSchema.nullable().describe("null while it is proposed"),
  proposedBy: personRefSchema.nullable().describe("null is the service itself: the profile came with it"),
  recordedAt: instantSchema,
});
export type RuleProfileRow = z.infer<typeof ruleProfileRowSchema>;

export const ruleProfileSchema = ruleProfileRowSchema.extend({
  body: z.string().describe("The whole profile as JSON"),
});
export type RuleProfileView = z.infer<typeof ruleProfileSchema>;

export const listProfiles = operation({
  id: "profiles.list",
  summary:
    "Rule profiles: of each place the version in force and those not decided yet; with a key, all versions of one place",
  method: "GET",
  path: "/profiles",
  permission: "profile.read",
  query: z.object({
    ...pageQuery,
    key: lineSchema(40)
      .optional()
      .describe("Short name of a place, such as us-nc: all its versions, newest first"),
  }),
  reply: pageOf(ruleProfileRowSchema),
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

/** The longest document that is taken, in characters. */
export const longestProfile = 400_000;

export const proposeProfile = operation({
  id: "profiles.propose",
  summary: "Put a version of a rule profile on record; it judges nothing until another person approves it",
  method: "POST",
  path: "/profiles",
  permission: "profile.propose",
  body: z.strictObject({
    id: idSchema,
    document: z.string().min(2).max(longestProfile).describe("The profile as JSON"),
    reason: reasonSchema,
  }),
  reply: ruleProfileSchema,
  status: 201,
  idempotent: true,
  problems: ["already-exists", "refused-by-rule"],
});

export const decideProfile = operation({
  id: "profiles.decide",
  summary: "Approve or decline a proposed version; never by its author",
  method: "POST",
  path: "/profiles/:id/decision",
  permission: "profile.decide",
  params: idParams,
  body: z.strictObject({
    outcome: z.enum(["approved", "declined"]),
    effectiveFrom: dateSchema
      .nullable()
      .describe("First local date of tests that it judges; null from the beginning. null when declined"),
    reason: reasonSchema,
  }),
  reply: ruleProfileSchema,
  status: 201,
  idempotent: true,
  problems: ["not-found", "wrong-state", "refused-by-rule", "not-permitted"],
});

export const profileOperations = [listProfiles, getProfile, proposeProfile, decideProfile];
