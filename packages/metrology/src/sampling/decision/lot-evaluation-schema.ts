import { z } from "zod";
import { samplingCharacteristics, schemeLimitsSchema } from "./sampling-scheme.ts";

/**
 * What a lot's results say: "open" while results are missing, "person-decides" where the arithmetic alone cannot
 * decide, with the reason among the cautions.
 */
export const evaluationOutcomes = [
  "open",
  "accepted",
  "accepted-return-to-normal",
  "not-accepted",
  "person-decides",
] as const;
export type EvaluationOutcome = (typeof evaluationOutcomes)[number];

export const evaluationOutcomeNames: Record<EvaluationOutcome, string> = {
  open: "Results are missing",
  accepted: "Accepted",
  "accepted-return-to-normal": "Accepted, normal inspection returns",
  "not-accepted": "Not accepted",
  "person-decides": "A person decides",
};

/** One place of the sample as a characteristic sees it. */
export const characteristicReadingSchema = z.strictObject({
  place: z.int().min(1).describe("place in the sample, in the order drawn"),
  meter: z.string().describe("utility number of the meter that fills the place"),
  result: z.enum(["reading", "verdict", "untestable", "left-out", "not-measured", "waiting"]),
  value: z.string().nullable().describe("percent registration as found, exact decimal"),
  conforming: z.boolean().nullable(),
});
export type CharacteristicReading = z.output<typeof characteristicReadingSchema>;

export const characteristicEvaluationSchema = z.strictObject({
  characteristic: z.enum(samplingCharacteristics),
  limits: schemeLimitsSchema.nullable(),
  places: z.int().describe("places of the sample that this characteristic looks at"),
  readings: z.array(characteristicReadingSchema),
  waiting: z.int(),
  leftOut: z.int(),
  untestable: z.int(),
  counted: z.int().describe("meters with a result that counts"),
  nonconforming: z.int(),
  fraction: z
    .strictObject({ fraction: z.number(), lower: z.number(), upper: z.number() })
    .nullable()
    .describe("observed fraction nonconforming with exact 95 % limits (Clopper-Pearson)"),
  lot: z
    .strictObject({ lower: z.number(), upper: z.number() })
    .nullable()
    .describe("exact 95 % limits of the nonconforming meters in the lot"),
  mean: z.number().nullable(),
  s: z.number().nullable().describe("sample standard deviation, divisor n - 1"),
  least: z.string().nullable(),
  greatest: z.string().nullable(),
  estimate: z
    .strictObject({
      qLower: z.number().nullable(),
      qUpper: z.number().nullable(),
      pLower: z.number(),
      pUpper: z.number(),
      p: z.number(),
    })
    .nullable()
    .describe("estimated percent nonconforming, from three readings on"),
  normality: z
    .strictObject({ statistic: z.number(), pValue: z.number() })
    .nullable()
    .describe("Anderson-Darling, from eight readings on"),
  outlier: z
    .strictObject({
      place: z.int(),
      value: z.number(),
      statistic: z.number(),
      criticalValue: z.number(),
      exceeds: z.boolean(),
    })
    .nullable()
    .describe("Grubbs at 0.05, both ends; the suspect stays in every figure"),
  criteria: z.array(
    z.strictObject({
      text: z.string(),
      value: z.number(),
      comparison: z.enum(["at-most", "at-least"]),
      bound: z.number(),
      holds: z.boolean(),
    }),
  ),
  outcome: z.enum(evaluationOutcomes),
  sentence: z.string(),
  cautions: z.array(z.string()),
});
export type CharacteristicEvaluation = z.output<typeof characteristicEvaluationSchema>;

export const lotEvaluationSchema = z.strictObject({
  format: z.literal(1),
  engineVersion: z.string(),
  lotSize: z.int(),
  sampleSize: z.int(),
  waiting: z.int().describe("places without an outcome"),
  characteristics: z.array(characteristicEvaluationSchema).min(1),
  outcome: z.enum(evaluationOutcomes),
  sentence: z.string(),
});
export type LotEvaluation = z.output<typeof lotEvaluationSchema>;
