import { conditionsSchema, meterTestSchema } from "@sealbook/contract/meter-tests";
import { accuracyClasses, circuitFactorsSchema } from "@sealbook/contract/meter-types";
import { standardRanks } from "@sealbook/contract/standards";
import { occasions } from "@sealbook/contract/test-plans";
import { z } from "zod";

/**
 * What was entered for a test, and the nameplates it was entered against, as one document in the column entry_body.
 * Types and standards can be edited later; a test keeps what stood on them when it was recorded.
 *
 * `format` changes with a migration only.
 */
export const entryBodySchema = z.strictObject({
  format: z.literal(1),
  nameplate: z.strictObject({
    utilityNumber: z.string(),
    serial: z.string(),
    maker: z.string(),
    model: z.string(),
    form: z.string(),
    kh: z.string(),
    kt: z.string().nullable(),
    accuracyClass: z.enum(accuracyClasses),
    testAmperes: z.string(),
    designVolts: z.string(),
    circuitFactors: circuitFactorsSchema,
  }),
  standard: z
    .strictObject({
      designation: z.string(),
      maker: z.string(),
      model: z.string(),
      serial: z.string(),
      rank: z.enum(standardRanks),
    })
    .nullable(),
  /** Whose limits the as-found pass was judged by; null where nothing was judged. */
  occasion: z.enum(occasions).nullable(),
  outcome: meterTestSchema.shape.outcome,
  conditions: conditionsSchema,
  preconditionsConfirmed: z.array(z.string()),
  readingBefore: z.string().nullable(),
  readingAfter: z.string().nullable(),
  sealsRemoved: z.array(z.string()),
  sealsApplied: z.array(z.string()),
  remarks: z.string(),
  workItemIds: z.array(z.string()),
  fileIds: z.array(z.string()),
  /** There where something is unusual and was confirmed. */
  confirmedUnusual: z.literal(true).optional(),
});
export type EntryBody = z.infer<typeof entryBodySchema>;
