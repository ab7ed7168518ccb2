import { inspectionSeverities } from "@sealbook/metrology/sampling/sampling-terms";
import { z } from "zod";
import { dataLines } from "./read-data.ts";

const walkSchema = z.object({
  name: z.string(),
  rule: z.string(),
  lotSize: z.number(),
  firstMeter: z.number(),
  step: z.number(),
  inspection: z.enum(inspectionSeverities),
  letter: z.string(),
  n: z.number(),
  M: z.number(),
  seed: z.string(),
  spares: z.number(),
  listHash: z.string(),
  firstDrawn: z.array(z.string()),
  lastSpare: z.string(),
  fullLoad: z.array(z.string()),
  mean: z.string(),
  s: z.string(),
  pLower: z.string(),
  pUpper: z.string(),
  accepted: z.boolean(),
});
export type Walk = z.infer<typeof walkSchema>;

/**
 * Two state rules walked from group to decision. Meters and readings are invented; draws, means, spreads and percents
 * were worked out apart from this project (see the head of the data file).
 */
export const walks = dataLines("walks.jsonl").map((line) => walkSchema.parse(JSON.parse(line)));
