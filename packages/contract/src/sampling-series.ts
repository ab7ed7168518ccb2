import { samplingCharacteristics } from "@sealbook/metrology/sampling/decision/sampling-scheme";
import { inspectionSeverities } from "@sealbook/metrology/sampling/sampling-terms";
import { z } from "zod";
import { idSchema, instantSchema, personRefSchema, reasonSchema } from "./common.ts";
import { lotOutcomes } from "./lot-terms.ts";
import { operation } from "./operation.ts";

/** What happened to one characteristic of a series, and where it left the severity. */
export const seriesStepSchema = z.object({
  at: instantSchema,
  kind: z
    .enum(["lot", "irregular", "corrective-action", "directed", "joined"])
    .describe("joined: a lot for which the series goes on from others, split or merged"),
  lotId: idSchema.nullable(),
  lotNumber: z.string().nullable(),
  outcome: z.enum(lotOutcomes).nullable(),
  resubmitted: z.boolean().describe("Not original inspection, or a second try: it does not count"),
  reason: z.string().describe("Of an event that a person entered"),
  by: personRefSchema.nullable(),
  severityBefore: z.string(),
  severityAfter: z.string(),
  reasons: z.array(z.string()).describe("Why, in sentences"),
});

export const seriesSchema = z.object({
  series: z.string(),
  title: z.string(),
  schemeCode: z.string(),
  switching: z.boolean(),
  edition: z.string().nullable().describe("Whose rules switch it; null for a plan table"),
  characteristics: z.array(
    z.object({
      characteristic: z.enum(samplingCharacteristics),
      severity: z
        .enum([...inspectionSeverities, "discontinued"])
        .describe("Of the next lot; discontinued: none is judged before corrective action"),
      inheritedFrom: z.array(z.string()).describe("Series that it has gone on from"),
      steps: z.array(seriesStepSchema).describe("Oldest first"),
    }),
  ),
});

export type Series = z.infer<typeof seriesSchema>;

export const getSeries = operation({
  id: "sampling.getSeries",
  summary: "Switching history of a series under a scheme, with reasons",
  method: "GET",
  path: "/sampling-series",
  permission: "sampling.read",
  query: z.object({ series: z.string().min(1).max(500), schemeCode: z.string().min(1).max(40) }),
  reply: seriesSchema,
  problems: ["not-found"],
});

export const addSwitchingEvent = operation({
  id: "sampling.addSwitchingEvent",
  summary:
    "Say that production is irregular, that corrective action was taken, or which severity is directed",
  method: "POST",
  path: "/sampling-series/events",
  permission: "sampling.decide",
  body: z.strictObject({
    id: idSchema,
    series: z.string().min(1).max(500),
    schemeCode: z.string().min(1).max(40),
    characteristic: z.enum(samplingCharacteristics).nullable().describe("null: all of the scheme"),
    kind: z.enum(["irregular", "corrective-action", "directed"]),
    severity: z.enum(inspectionSeverities).nullable().describe("For directed alone"),
    reason: reasonSchema,
  }),
  reply: seriesSchema,
  status: 201,
  idempotent: true,
  problems: ["not-found", "already-exists", "refused-by-rule"],
});

export const samplingSeriesOperations = [getSeries, addSwitchingEvent];
