import { z } from "zod";
import { inspectionSeverities } from "../sampling-terms.ts";
import { samplingCharacteristics } from "./sampling-scheme.ts";

const counts = {
  n: z.int().min(1).describe("meters to test"),
  ac: z.int().min(0),
  re: z.int().min(1),
  allInspected: z.boolean().describe("the plan asks for the whole lot or more"),
};

/** The plan of one characteristic of one lot, under the severity that its series has come to. */
export const characteristicPlanSchema = z.strictObject({
  characteristic: z.enum(samplingCharacteristics),
  severity: z.enum(inspectionSeverities),
  reasons: z.array(z.string()).describe("why this severity, in sentences"),
  aqlPercent: z.string().nullable(),
  plan: z.discriminatedUnion("kind", [
    z.strictObject({
      kind: z.literal("attributes"),
      edition: z.string(),
      letter: z.string(),
      planLetter: z.string(),
      ...counts,
    }),
    z.strictObject({
      kind: z.literal("variables"),
      edition: z.string(),
      letter: z.string(),
      n: counts.n,
      maximumPercent: z.number().describe("M: largest estimated percent nonconforming that accepts"),
      allInspected: counts.allInspected,
    }),
    z.strictObject({ kind: z.literal("plan-table"), table: z.string(), source: z.string(), ...counts }),
    z
      .strictObject({ kind: z.literal("whole-lot"), ...counts })
      .describe("the lot is too small for the tables: every meter is tested, none may be nonconforming"),
  ]),
  notes: z.array(z.string()),
  protection: z
    .strictObject({ acceptedPercent: z.number(), refusedPercent: z.number(), sentence: z.string() })
    .nullable()
    .describe("two points of the operating characteristic; null where the whole lot is tested"),
});
export type CharacteristicPlan = z.output<typeof characteristicPlanSchema>;

/** The plan of a lot: the sample is as large as the largest plan asks; a smaller plan looks at its first places only. */
export const lotPlanSchema = z.strictObject({
  format: z.literal(1),
  lotSize: z.int().min(1),
  characteristics: z.array(characteristicPlanSchema).min(1),
  n: z.int().min(1).describe("meters to test"),
  spares: z.int().min(0).describe("meters drawn after the sample, to stand in"),
});
export type LotPlan = z.output<typeof lotPlanSchema>;
