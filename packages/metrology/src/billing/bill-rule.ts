import { z } from "zod";

const percent = z.string().regex(/^\d{1,3}(\.\d{1,6})?$/);
const money = z.string().regex(/^\d{1,9}(\.\d{2})?$/);
const months = z.int().positive();

/**
 * How long the error is taken to have lasted when nobody knows when it began: the shortest of some fractions of
 * known spans, no longer than a cap.
 */
const assumedPeriodSchema = z.strictObject({
  shortestOf: z
    .array(
      z.strictObject({
        fraction: z.enum(["1", "0.5", "0.25"]).describe("part of the span"),
        since: z.enum(["last-test", "installation"]).describe("the span runs from here to the test"),
      }),
    )
    .min(1),
  capMonths: months.nullable().describe("longest period, in calendar months; null for none"),
  addMonthsOverdue: z
    .boolean()
    .describe("the time in service beyond the due date of the periodic test lengthens the cap"),
});

/** When a known beginning of the error replaces the assumed period. */
const knownStartSchema = z.strictObject({
  causes: z.array(z.enum(["established", "tampering"])).describe("causes whose date counts; empty for none"),
  capMonths: months.nullable().describe("longest period even then, in calendar months; null for none"),
});

const signRuleSchema = z.strictObject({
  thresholdPercent: percent.describe("adjusted when the average error is larger than this, percent"),
  duty: z.enum(["must", "may", "none"]).describe("whether the utility must adjust, may adjust, or does not"),
  correctTo: z
    .enum(["hundred-percent", "limit"])
    .describe("to what registration the use is corrected: 100 %, or the threshold's limit"),
  knownStart: knownStartSchema,
  assumedPeriod: assumedPeriodSchema
    .nullable()
    .describe("null when the rule gives none, or its text was not read: a known beginning is then needed"),
});

/**
 * The bill-adjustment part of a rule profile: data, never code. What the text of the rule does not say, or was not
 * read, is null or said in the notes.
 */
export const billRuleSchema = z.strictObject({
  key: z
    .string()
    .regex(/^[a-z]{2}-[a-z0-9-]+$/)
    .describe("short name, such as us-pa"),
  place: z.string().min(1),
  citation: z.strictObject({
    title: z.string().min(1),
    where: z.string().min(1).describe("address of the page that was read"),
    dateRead: z.iso.date(),
    howRead: z.string().min(1).describe("how much of the text was seen"),
  }),
  fast: signRuleSchema.describe("the meter registers more than passed"),
  slow: signRuleSchema.describe("the meter registers less than passed"),
  tamperingHasNoThreshold: z.boolean().describe("an error due to tampering is adjusted however small it is"),
  amount: z.strictObject({
    basis: z
      .enum(["energy-rate", "share-of-charges"])
      .describe("corrected less registered energy at its rate, or the percent error of the charges"),
    rounding: z
      .enum(["each-line", "total"])
      .describe("whether each billing period or only the sum is made whole cents"),
  }),
  smallestAmount: z
    .strictObject({ current: money, former: money })
    .nullable()
    .describe("an amount up to and including this is not adjusted; by whether the customer still is one"),
  creep: z
    .strictObject({
      duty: z.enum(["must", "may"]),
      knownStart: knownStartSchema,
      assumedPeriod: assumedPeriodSchema,
    })
    .nullable()
    .describe("a meter that creeps; null when the rule has no period of its own for it"),
  stopped: z
    .strictObject({
      duty: z.enum(["must", "may"]),
      estimate: z
        .enum(["mean-of-comparable-periods"])
        .describe("the mean of what was registered over corresponding, else similar, periods"),
      capMonths: months.nullable(),
      tamperingLiftsCap: z.boolean(),
    })
    .nullable()
    .describe("a meter that does not register; null when the rule's text on it was not read"),
  notes: z
    .array(z.string().min(1))
    .describe("what a person must know or check before the adjustment is used"),
});

export type BillRule = z.output<typeof billRuleSchema>;
export type SignRule = z.output<typeof signRuleSchema>;
export type AssumedPeriod = z.output<typeof assumedPeriodSchema>;
export type KnownStartRule = z.output<typeof knownStartSchema>;
