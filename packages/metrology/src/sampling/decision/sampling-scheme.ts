import { z } from "zod";
import { planTableSchema } from "../attributes/plan-table.ts";

/**
 * A sampling scheme: what is judged on a lot of meters, by which plan, and what happens to meters that cannot be tested.
 * It is data with its citation; a stored revision never changes, and every plan and decision names the one it was made
 * under.
 */

const line = (longest: number) => z.string().min(1).max(longest);
const decimal = z
  .string()
  .regex(/^\d{1,6}(\.\d{1,9})?$/)
  .describe("a decimal written out, not negative");

/** What a plan looks at: the registration at a load, an average, or the meter's whole verdict as found. */
export const samplingCharacteristics = [
  "full-load",
  "light-load",
  "power-factor",
  "average",
  "verdict",
] as const;
export type SamplingCharacteristic = (typeof samplingCharacteristics)[number];

export const samplingCharacteristicNames: Record<SamplingCharacteristic, string> = {
  "full-load": "Full load",
  "light-load": "Light load",
  "power-factor": "Power factor",
  average: "Average",
  verdict: "Verdict as found",
};

/** Why a sampled meter could not be had, or could not be tested. */
export const absenceReasons = [
  "no-access",
  "customer-refused",
  "unsafe",
  "not-found",
  "moved",
  "retired",
  "no-test-possible",
  "other",
] as const;
export type AbsenceReason = (typeof absenceReasons)[number];

export const absenceReasonNames: Record<AbsenceReason, string> = {
  "no-access": "No access",
  "customer-refused": "Customer refused",
  unsafe: "Unsafe to work on",
  "not-found": "Meter not found",
  moved: "Moved before the pull",
  retired: "Retired before the pull",
  "no-test-possible": "No test possible",
  other: "Other reason",
};

export const schemeLimitsSchema = z
  .strictObject({ minPercent: decimal, maxPercent: decimal, source: line(300) })
  .refine(({ minPercent, maxPercent }) => Number(minPercent) <= Number(maxPercent), "limits are upside down");

const planKinds = {
  attributes: z.strictObject({
    kind: z.literal("attributes"),
    edition: z.enum(["MIL-STD-105E", "ANSI/ASQ Z1.4-2003"]),
    level: line(10).describe("S-1, S-2, S-3, S-4, I, II or III"),
    aqlPercent: decimal,
  }),
  variables: z.strictObject({
    kind: z.literal("variables"),
    edition: z.enum(["ANSI/ASQ Z1.9", "MIL-STD-414"]),
    form: z.literal([1, 2]).describe("1 compares Q with k (one limit); 2 the estimated percent with M"),
    level: line(10).describe("Z1.9 has S-3, S-4, I, II, III; MIL-STD-414 has I to V"),
    aqlPercent: decimal,
  }),
  table: z.strictObject({ kind: z.literal("plan-table"), table: planTableSchema }),
};

export const schemePlanSchema = z.discriminatedUnion("kind", [
  planKinds.attributes,
  planKinds.variables,
  planKinds.table,
]);
export type SchemePlan = z.output<typeof schemePlanSchema>;

export const judgedCharacteristicSchema = z.strictObject({
  characteristic: z.enum(samplingCharacteristics),
  limits: schemeLimitsSchema
    .nullable()
    .describe("of registration in percent, inclusive; null only for the verdict"),
  aqlPercent: decimal.nullable().describe("AQL of its own; null takes the plan's"),
});
export type JudgedCharacteristic = z.output<typeof judgedCharacteristicSchema>;

export const schemeAverageSchema = z.strictObject({
  label: line(80),
  weights: z
    .array(z.strictObject({ role: z.enum(["full-load", "light-load", "power-factor"]), weight: decimal }))
    .min(1),
  source: line(300),
});

/** The whole of a scheme before its rules are checked together; presets leave out what their source was not read for. */
export const schemeFields = {
  format: z.literal(1).describe("form of this document; it changes with a migration only"),
  purpose: z.enum(["shipment", "in-service"]),
  jurisdiction: line(40)
    .nullable()
    .describe("key of the rule profile that it follows; null for a house scheme"),
  source: line(500).describe("citation, or who agreed on it"),
  plan: schemePlanSchema,
  characteristics: z.array(judgedCharacteristicSchema).min(1).max(5),
  average: schemeAverageSchema
    .nullable()
    .describe("how the average is made from the loads; null takes each test's own average under its profile"),
  untestable: z.strictObject({
    counts: z
      .enum(["nonconforming", "left-out"])
      .describe(
        "how a meter counts on which no test was possible; it never enters a mean: under variables a nonconforming one is counted apart and a person decides",
      ),
    reason: line(300),
  }),
  replacement: z.strictObject({
    allowed: z.boolean().describe("whether a spare may take the place of a meter that cannot be had"),
    sparesPercent: z.int().min(0).max(100).describe("spares to draw, percent of the sample, rounded up"),
    reasons: z
      .array(z.enum(absenceReasons))
      .describe("for which a spare is called up; else the meter is left out"),
  }),
  lotSize: z.strictObject({
    min: z.int().min(1),
    max: z.int().min(1).nullable(),
    standAloneFrom: z.int().min(1).nullable().describe("a type of this many meters or more is never merged"),
  }),
  grouping: z
    .strictObject({
      years: z
        .int()
        .min(1)
        .max(50)
        .nullable()
        .describe("meters bought within this many years stand together; null: all"),
      firmware: z.boolean().describe("each firmware stands apart"),
      area: z.boolean().describe("each area stands apart"),
      merge: z
        .enum(["never", "same-form", "same-technology"])
        .describe("which groups below the least size may stand together"),
    })
    .nullable()
    .describe("how groups in service are formed; null for shipments"),
  everyMonths: z.int().min(1).nullable().describe("how often the groups are sampled"),
  switching: z
    .boolean()
    .describe("whether the severity follows the series; else it stays normal unless directed"),
  limitNumbersDropped: z
    .boolean()
    .describe("the limit numbers of reduced inspection are dropped by agreement (Z1.4-2003 only)"),
  notes: z.array(line(500)).max(20),
};

/** The stored body of a sampling scheme. */
export const samplingSchemeSchema = z.strictObject(schemeFields).superRefine((scheme, context) => {
  const problem = (path: (string | number)[], message: string) =>
    context.addIssue({ code: "custom", path, message });
  scheme.characteristics.forEach(({ characteristic, limits, aqlPercent }, place) => {
    const path = ["characteristics", place];
    if (scheme.characteristics.findIndex((other) => other.characteristic === characteristic) !== place)
      problem(path, "each characteristic is judged once");
    if (characteristic === "verdict") {
      if (limits !== null)
        problem([...path, "limits"], "the verdict has the limits of each meter's own profile");
      if (scheme.plan.kind === "variables")
        problem(path, "a verdict is counted, not measured: it needs a plan by attributes");
    } else if (limits === null)
      problem([...path, "limits"], "give the limits that the registration is judged by");
    if (aqlPercent !== null && scheme.plan.kind === "plan-table")
      problem([...path, "aqlPercent"], "a plan table has no AQL");
  });
  if (scheme.plan.kind === "variables" && scheme.plan.form === 1)
    problem(["plan", "form"], "Form 1 is for one limit; limits of registration are two, so use Form 2");
  if (scheme.lotSize.max !== null && scheme.lotSize.max < scheme.lotSize.min)
    problem(["lotSize", "max"], "the largest lot is smaller than the least");
  if ((scheme.purpose === "in-service") !== (scheme.grouping !== null))
    problem(["grouping"], "groups in service need grouping rules, shipments have none");
  if (scheme.replacement.allowed && scheme.replacement.reasons.length === 0)
    problem(["replacement", "reasons"], "say for which reasons a spare is called up");
  if (scheme.untestable.counts === "nonconforming" && scheme.replacement.reasons.includes("no-test-possible"))
    problem(["replacement", "reasons"], "a meter that counts as nonconforming is not replaced by a spare");
  if (
    scheme.limitNumbersDropped &&
    !(scheme.plan.kind === "attributes" && scheme.plan.edition === "ANSI/ASQ Z1.4-2003")
  )
    problem(["limitNumbersDropped"], "only Z1.4-2003 lets the limit numbers be dropped");
});
export type SamplingScheme = z.output<typeof samplingSchemeSchema>;

/** A scheme as its source gives it: what was not read is null and stands in `asks`, to be given before it is used. */
export const schemePresetSchema = z.strictObject({
  key: z.string().regex(/^[a-z0-9-]+$/),
  title: line(120),
  body: z.strictObject({
    ...schemeFields,
    plan: z.discriminatedUnion("kind", [
      z.strictObject({ ...planKinds.attributes.shape, aqlPercent: decimal.nullable() }),
      z.strictObject({ ...planKinds.variables.shape, aqlPercent: decimal.nullable() }),
      planKinds.table,
    ]),
  }),
  asks: z.array(line(300)).describe("what a person must give from the text before the scheme is used"),
});
export type SchemePreset = z.output<typeof schemePresetSchema>;
