import { z } from "zod";
import { billRuleSchema } from "../billing/bill-rule.ts";
import { planTableSchema } from "../sampling/attributes/plan-table.ts";

/**
 * A rule profile: what the rules of one place say about testing electricity meters, as data with citations.
 *
 * Invariant: a stored profile never changes. New knowledge makes a new version, and every decision keeps the version
 * that it was made under. What the text does not say, or was not read, is absent and named in `gaps`.
 */

const occasionSchema = z.enum(["new", "in-service", "as-left", "request"]);
const roleSchema = z.enum(["full-load", "light-load", "power-factor"]);
const decimalSchema = z
  .string()
  .regex(/^\d{1,6}(\.\d{1,9})?$/)
  .describe("a decimal written out, not negative");

const citationSchema = z.strictObject({
  title: z.string().min(1).describe("rule and section"),
  where: z.string().min(1).describe("address of the page that was read"),
  dateRead: z.iso.date(),
  howRead: z.string().min(1).describe("how much of the text was seen, and of which date"),
});

const limitsSchema = z
  .strictObject({
    minPercent: decimalSchema,
    maxPercent: decimalSchema,
    source: z.string().min(1),
  })
  .refine(({ minPercent, maxPercent }) => Number(minPercent) <= Number(maxPercent), "limits are upside down");

const averageRuleSchema = z.strictObject({
  label: z.string().min(1),
  weights: z.array(z.strictObject({ role: roleSchema, weight: decimalSchema })).min(1),
  source: z.string().min(1),
});

const decisionRuleSchema = z.discriminatedUnion("kind", [
  z.strictObject({ kind: z.literal("simple"), source: z.string().min(1) }),
  z.strictObject({
    kind: z.literal("guard-band"),
    uncertaintyMultiple: decimalSchema,
    source: z.string().min(1),
  }),
  z.strictObject({
    kind: z.literal("false-accept"),
    maxProbability: decimalSchema,
    source: z.string().min(1),
  }),
]);

/** A limit of one point or of the average, for some occasions, for all accuracy classes or for one. */
const limitRuleSchema = z.strictObject({
  of: z.enum(["average", "full-load", "light-load", "power-factor"]),
  occasions: z.array(occasionSchema).min(1),
  accuracyClass: z.string().min(1).nullable().describe("the class that it holds for; null for every class"),
  limits: limitsSchema,
});

/** A meter that creeps fails, on every occasion. */
const creepRuleSchema = z.strictObject({
  definition: z.discriminatedUnion("kind", [
    z
      .strictObject({ kind: z.literal("turn-within"), seconds: z.int().positive() })
      .describe("one whole turn in this time or less, load wires disconnected"),
    z
      .strictObject({ kind: z.literal("registers-at-no-load"), belowPercentOfVoltage: z.int().positive() })
      .describe("registers at no load below this percent of the standard service voltage"),
    z
      .strictObject({ kind: z.literal("not-defined") })
      .describe("the rule forbids creep and does not define it"),
  ]),
  source: z.string().min(1),
});

/** The largest error of demand meters of one kind, either way. */
const demandRuleSchema = z.strictObject({
  basis: z.enum(["full-scale", "reading"]).describe("what the error is a percentage of"),
  appliesTo: z.string().min(1).describe("kind of demand meter or register"),
  occasions: z.array(occasionSchema).min(1),
  maxErrorPercent: decimalSchema.describe("inclusive, either way"),
  fromPercent: decimalSchema.describe(
    "inclusive; percent of full scale, or of test amperes where the basis is the reading",
  ),
  toPercent: decimalSchema.describe("inclusive; in percent of the same"),
  source: z.string().min(1),
});

/** A meter must start at this load; one that does not fails. */
const startingLoadRuleSchema = z.strictObject({
  occasions: z.array(occasionSchema).min(1),
  powerFactor: decimalSchema,
  currents: z
    .array(
      z.strictObject({
        connection: z.enum(["direct", "transformer"]),
        accuracyClass: z.string().min(1),
        percentOfReferenceCurrent: decimalSchema,
      }),
    )
    .min(1),
  source: z.string().min(1),
});

const loadSchema = z.strictObject({
  role: roleSchema,
  minPercentOfTestAmperes: decimalSchema,
  maxPercentOfTestAmperes: decimalSchema,
  powerFactor: decimalSchema,
  source: z.string().min(1),
});

/** Which meters an interval holds for, as a machine reads it; what is absent does not matter. */
const intervalSelectorSchema = z
  .strictObject({
    technology: z.enum(["electromechanical", "solid-state"]).optional(),
    phases: z.enum(["single-phase", "polyphase"]).optional(),
    accuracyClasses: z.array(z.string().min(1)).min(1).optional(),
    connection: z
      .enum(["direct", "transformer"])
      .optional()
      .describe("self-contained, or behind transformers"),
  })
  .describe("absent where the text cannot be told from a meter's type: then a person goes by appliesTo");

const samplingSchemeSchema = z.discriminatedUnion("kind", [
  z.strictObject({
    kind: z.literal("variables"),
    standard: z.string().min(1).describe("standard and its edition"),
    tables: z.string().min(1),
    level: z.string().min(1),
    aqlPercent: decimalSchema.nullable().describe("null where the text with it was not read"),
    judgedOn: z.array(roleSchema).describe("loads whose registration is judged; empty where it was not read"),
    limits: limitsSchema.nullable().describe("specification limits; null where they were not read"),
    lotMin: z.int().positive().nullable(),
    lotMax: z.int().positive().nullable(),
    everyMonths: z.int().positive(),
    switching: z.boolean().describe("normal, tightened and reduced inspection are used"),
    source: z.string().min(1),
  }),
  z.strictObject({
    kind: z.literal("plan-table"),
    table: z
      .union([z.literal("france-in-service"), planTableSchema])
      .describe("name of a table of plans in the sampling room, or a table of the profile's own"),
    everyMonths: z.int().positive(),
    source: z.string().min(1),
  }),
  z.strictObject({
    kind: z.literal("utility-plan"),
    standards: z.array(z.string().min(1)).min(1).describe("standards that the utility's own plan may follow"),
    source: z.string().min(1),
  }),
]);

/** What goes to the authority, and by which day of the year. */
const reportSchema = z.strictObject({
  what: z.string().min(1).describe("what the report holds, in words"),
  dueBy: z
    .string()
    .regex(/^(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])$/)
    .nullable()
    .describe("month and day, such as 04-01, of the year that follows; null where the text read names none"),
  covers: z.enum(["calendar-year"]).describe("the period that it is about"),
  source: z.string().min(1),
});

/** Something that must be done within a time. */
const deadlineSchema = z.strictObject({
  what: z.string().min(1).describe("what must be done, and counted from what"),
  within: z
    .strictObject({ count: z.int().positive(), unit: z.enum(["days", "months"]) })
    .nullable()
    .describe("null where the text says without delay"),
  source: z.string().min(1),
});

const bandSchema = z.strictObject({
  label: z.string().min(1),
  minPercent: decimalSchema.nullable().describe("inclusive, after rounding; null for the lowest band"),
  maxPercent: decimalSchema.nullable().describe("inclusive, after rounding; null for the highest band"),
});

export const ruleProfileSchema = z.strictObject({
  format: z.literal(1).describe("form of this document; it changes with a migration only"),
  key: z
    .string()
    .regex(/^[a-z]{2}(-[a-z0-9]+)*$/)
    .describe("short name, such as us-nc"),
  version: z.string().regex(/^\d+$/).describe("counts up from 1"),
  title: z.string().min(1),
  place: z.string().min(1),
  caution: z.literal("Verify against the current text; local rules govern."),
  citations: z.array(citationSchema).min(1),
  effective: z.strictObject({
    from: z.iso
      .date()
      .nullable()
      .describe("since when the rule holds; null where the text read does not say"),
    to: z.iso.date().nullable().describe("until when; null while it holds"),
  }),
  judged: z
    .array(z.enum(["points", "average", "creep", "starting-load", "demand"]))
    .describe("what a test is judged on; empty when the text read gives nothing to judge a single meter by"),
  limits: z.array(limitRuleSchema),
  averages: z
    .array(
      z.strictObject({
        key: z.string().regex(/^[a-z0-9-]+$/),
        phases: z.enum(["any", "single-phase", "polyphase"]),
        rule: averageRuleSchema,
      }),
    )
    .describe(
      "ways to make the average that the rule allows; the first that fits is taken unless one is chosen",
    ),
  constantLoad: z
    .strictObject({ source: z.string().min(1) })
    .nullable()
    .describe(
      "a meter of constant load is tested at that load, whose error is the average; null where not said",
    ),
  loads: z.array(loadSchema).describe("what the rule means by its loads"),
  decisionRule: decisionRuleSchema,
  creep: creepRuleSchema.nullable(),
  startingLoad: startingLoadRuleSchema
    .optional()
    .describe("absent where the text read says nothing of a starting load"),
  demand: z
    .array(demandRuleSchema)
    .min(1)
    .optional()
    .describe("absent where the text read gives no limits of demand"),
  rounding: z.string().min(1).describe("what is rounded, and what is not"),
  outsideCertifiedRange: z.strictObject({
    policy: z.enum(["refuse", "take-uncorrected"]),
    source: z.string().min(1),
  }),
  intervals: z.array(
    z.strictObject({
      appliesTo: z.string().min(1),
      selector: intervalSelectorSchema.optional(),
      months: z.int().positive(),
      source: z.string().min(1),
    }),
  ),
  sampling: samplingSchemeSchema.nullable(),
  billAdjustment: billRuleSchema.nullable(),
  reportBands: z
    .strictObject({
      places: z.int().min(0).describe("decimals to which a registration is rounded before it is counted"),
      bands: z.array(bandSchema).min(1),
      asFoundOnly: z
        .literal(true)
        .optional()
        .describe(
          "the rule asks for results before adjustment alone; absent where results as left count too",
        ),
      source: z.string().min(1),
    })
    .nullable(),
  reports: z.array(reportSchema).min(1).optional().describe("absent where the text read asks for no report"),
  deadlines: z.array(deadlineSchema).min(1).optional().describe("absent where the text read sets none"),
  standardIntervals: z
    .array(
      z.strictObject({
        appliesTo: z.string().min(1).describe("kind of standard or instrument"),
        months: z.int().positive(),
        source: z.string().min(1),
      }),
    )
    .min(1)
    .optional()
    .describe("how often standards are compared; absent where the text read gives no time"),
  retention: z.array(
    z.strictObject({ what: z.string().min(1), howLong: z.string().min(1), source: z.string().min(1) }),
  ),
  gaps: z
    .array(z.string().min(1))
    .describe("what the rule may say that was not read; each is asked of a person"),
  notes: z.array(z.string().min(1)),
});

export type RuleProfile = z.output<typeof ruleProfileSchema>;
