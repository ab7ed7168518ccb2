import { z } from "zod";
import { measures } from "./reported-test.ts";

/** Ways in which a summary divides the tests of a period; "all" is the whole. */
export const summaryDimensions = [
  "all",
  "type",
  "reason",
  "phase",
  "test-period",
  "type-and-test-period",
  "standard",
] as const;
export type SummaryDimension = (typeof summaryDimensions)[number];

export const summaryPasses = ["asFound", "asLeft"] as const;
export type SummaryPass = (typeof summaryPasses)[number];

const count = z.int().min(0);

export const summaryRowSchema = z.strictObject({
  key: z
    .string()
    .describe(
      "id of the type or standard, code of the reason, single-phase or polyphase; of a test period the whole years since the test before, or first",
    ),
  tests: count.describe("records that count"),
  withinLimits: count.describe("as found"),
  outsideLimits: count.describe(
    "as found, judged unrounded when the test was recorded; apart from the bands",
  ),
  incomplete: count.describe("points of the plan were missing"),
  noTestPossible: count,
  leftOutsideLimits: count.describe("as left"),
  severalReasons: count.describe("tests that answer more than one reason, counted once in a whole"),
  late: count.describe("tests recorded after the edition before was fixed"),
  measures: z
    .array(
      z.strictObject({
        pass: z.enum(summaryPasses),
        measure: z.enum(measures),
        outsideLimits: count,
        classes: z.array(count).describe("tests by class, in the order of the summary's classes"),
      }),
    )
    .describe("as left only where the layout's rule does not ask for results before adjustment alone"),
});
export type SummaryRow = z.output<typeof summaryRowSchema>;

export const summarySchema = z.strictObject({
  layout: z.strictObject({
    places: z
      .int()
      .describe("decimals that a registration is rounded to, half away from zero, before it is counted"),
    source: z.string(),
    asFoundOnly: z.boolean(),
    classes: z.array(z.strictObject({ key: z.string(), label: z.string() })),
  }),
  setAside: z
    .strictObject({ amended: count, withdrawn: count })
    .describe("records in the period that no other count holds: a later version stands for them"),
  untestable: z
    .array(z.strictObject({ reason: z.string(), tests: count }))
    .describe("why no test was possible"),
  divisions: z.array(
    z.strictObject({ dimension: z.enum(summaryDimensions), rows: z.array(summaryRowSchema) }),
  ),
});
export type Summary = z.output<typeof summarySchema>;
