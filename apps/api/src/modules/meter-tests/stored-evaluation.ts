import { passEvaluationSchema } from "@sealbook/contract/pass-evaluation";
import { z } from "zod";

/** What metrology made of a test, as kept in the column evaluation. `format` changes with a migration only. */
export const storedEvaluationSchema = z.strictObject({
  format: z.literal(1),
  asFound: passEvaluationSchema.nullable(),
  asLeft: passEvaluationSchema.nullable(),
});
export type StoredEvaluation = z.infer<typeof storedEvaluationSchema>;
