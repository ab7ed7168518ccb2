import { samplingCharacteristics } from "@sealbook/metrology/sampling/decision/sampling-scheme";
import { z } from "zod";
import {
  dateSchema,
  idParams,
  idSchema,
  instantSchema,
  lineSchema,
  pageOf,
  pageQuery,
  personRefSchema,
  reasonSchema,
} from "./common.ts";
import { unitStates } from "./follow-up.ts";
import { lotOutcomes } from "./lot-terms.ts";
import { operation } from "./operation.ts";
import { lotSchema, seedSchema, seedTermsSchema } from "./sampling.ts";
import { schemeRefSchema } from "./sampling-schemes.ts";

// Groups in service: a programme forms the groups of a year from the inventory and samples each as a lot (sampling.ts).

export const groupStandings = ["formed", "split", "merged", "too-small"] as const;
export const groupStandingNames: Record<(typeof groupStandings)[number], string> = {
  formed: "One lot",
  split: "Split into lots",
  merged: "Small groups together",
  "too-small": "Too small for a lot",
};

/** A group as the rules form it from the inventory. */
export const groupPreviewSchema = z.object({
  key: z.string().describe("What the group keeps from year to year"),
  title: z.string(),
  size: z.int(),
  standing: z.enum(groupStandings),
  lots: z.array(z.object({ series: z.string(), size: z.int(), sample: z.int().nullable() })),
  of: z.array(z.object({ title: z.string(), size: z.int() })).describe("What stands together in it"),
  reason: z.string().describe("Why it is split, merged or not sampled; empty for one lot"),
});

export const previewProgramme = operation({
  id: "groups.preview",
  summary: "The groups that a scheme forms from the inventory today; nothing is stored",
  method: "GET",
  path: "/programmes/preview",
  permission: "sampling.read",
  query: z.object({ schemeId: idSchema }),
  reply: z.object({
    groups: z.array(groupPreviewSchema),
    meters: z.int().describe("Meters in service of the utility"),
    leftOut: z.array(z.object({ reason: z.string(), meters: z.int() })),
  }),
  problems: ["not-found", "refused-by-rule"],
});

export const programmeStates = ["forming", "formed", "drawing", "drawn", "failed", "cancelled"] as const;
export const programmeStateNames: Record<(typeof programmeStates)[number], string> = {
  forming: "Groups are being formed",
  formed: "Lists published",
  drawing: "Being drawn",
  drawn: "Drawn",
  failed: "Failed",
  cancelled: "Cancelled",
};

export const programmeSchema = z.object({
  id: idSchema,
  year: z.int(),
  name: z.string(),
  scheme: schemeRefSchema,
  seed: seedTermsSchema,
  dueOn: dateSchema,
  state: z.enum(programmeStates),
  progress: z.object({ done: z.int(), total: z.int().nullable() }).describe("Groups formed or drawn"),
  failure: z.string().nullable(),
  leftOut: z.array(z.object({ reason: z.string(), meters: z.int() })).describe("Meters in no lot, and why"),
  counts: z.object({
    lots: z.int(),
    members: z.int(),
    sample: z.int(),
    done: z.int(),
    decided: z.int(),
    notAccepted: z.int(),
  }),
  areas: z.array(z.string()).describe("Areas in which sampled meters stand"),
  createdAt: instantSchema,
  createdBy: personRefSchema.nullable(),
  version: z.int(),
  entryId: idSchema,
});
export type Programme = z.infer<typeof programmeSchema>;

export const listProgrammes = operation({
  id: "groups.listProgrammes",
  summary: "Programmes of groups in service, newest first",
  method: "GET",
  path: "/programmes",
  permission: "sampling.read",
  query: z.object({ ...pageQuery }),
  reply: pageOf(programmeSchema),
});

export const getProgramme = operation({
  id: "groups.getProgramme",
  summary: "One programme with its progress; its lots come from the list of lots",
  method: "GET",
  path: "/programmes/:id",
  permission: "sampling.read",
  params: idParams,
  reply: programmeSchema,
  problems: ["not-found"],
});

export const createProgramme = operation({
  id: "groups.createProgramme",
  summary:
    "Form, plan and list all groups of a year in one job; with the system's seed they are drawn at once",
  method: "POST",
  path: "/programmes",
  permission: "sampling.run",
  body: z.strictObject({
    id: idSchema,
    year: z.int().min(1990).max(2100),
    name: lineSchema(120),
    schemeId: idSchema,
    seed: seedTermsSchema,
    dueOn: dateSchema.describe("When the results are due"),
  }),
  reply: programmeSchema,
  status: 202,
  idempotent: true,
  problems: ["already-exists", "refused-by-rule"],
});

export const drawProgramme = operation({
  id: "groups.drawProgramme",
  summary: "Draw every published list of a programme with one seed; each list's hash makes its draw its own",
  method: "POST",
  path: "/programmes/:id/draw",
  permission: "sampling.run",
  params: idParams,
  body: z.strictObject({ seed: seedSchema.nullable() }),
  reply: programmeSchema,
  status: 202,
  versioned: true,
  problems: ["not-found", "stale", "wrong-state", "refused-by-rule"],
});

export const cancelProgramme = operation({
  id: "groups.cancelProgramme",
  summary: "Ask a programme's job to stop; lots formed so far stay",
  method: "POST",
  path: "/programmes/:id/cancel",
  permission: "sampling.run",
  params: idParams,
  reply: programmeSchema,
  versioned: true,
  problems: ["not-found", "stale", "wrong-state"],
});

export const resumeProgramme = operation({
  id: "groups.resumeProgramme",
  summary: "Go on with a programme whose job was cancelled or failed; what it has formed or drawn stays",
  method: "POST",
  path: "/programmes/:id/resume",
  permission: "sampling.run",
  params: idParams,
  reply: programmeSchema,
  status: 202,
  versioned: true,
  problems: ["not-found", "stale", "wrong-state"],
});

export const openSecondTry = operation({
  id: "groups.openSecondTry",
  summary:
    "Try a group that was not accepted a second time, where its plan grants it: a lot of its own under the tightened plan",
  method: "POST",
  path: "/lots/:id/second-try",
  permission: "sampling.run",
  params: idParams,
  body: z.strictObject({ id: idSchema.describe("Of the new lot"), reason: reasonSchema }),
  reply: lotSchema,
  status: 201,
  idempotent: true,
  problems: ["not-found", "already-exists", "wrong-state", "refused-by-rule"],
});

/** A sampled meter that is to be pulled, with where it stands. */
export const pullSchema = z.object({
  lotId: idSchema,
  lotNumber: z.string(),
  lotTitle: z.string(),
  position: z.int(),
  place: z.int().nullable(),
  meterId: idSchema,
  utilityNumber: z.string(),
  serial: z.string(),
  form: z.string(),
  servicePoint: z.string().nullable(),
  area: z.string().nullable(),
  address: z.string().nullable(),
  state: z.enum(unitStates),
  dueOn: dateSchema.nullable(),
});
export type Pull = z.infer<typeof pullSchema>;

const pullFilter = {
  area: z.string().max(80).optional(),
  state: z.enum(["open", "all"]).default("open").describe("open: still to be tested"),
};

export const listPulls = operation({
  id: "groups.listPulls",
  summary: "Pull list of a programme by area, service point and number",
  method: "GET",
  path: "/programmes/:id/pulls",
  permission: "sampling.read",
  params: idParams,
  query: z.object({ ...pageQuery, ...pullFilter }),
  reply: pageOf(pullSchema),
  problems: ["not-found"],
});

export const getPullList = operation({
  id: "groups.getPullList",
  summary: "Pull list of a programme as CSV",
  method: "GET",
  path: "/programmes/:id/pull-list",
  permission: "sampling.read",
  params: idParams,
  query: z.object(pullFilter),
  reply: "file",
  problems: ["not-found"],
});

/** One year's decision on a series, with its change since the year before. */
export const groupYearSchema = z.object({
  series: z.string(),
  title: z.string(),
  schemeCode: z.string(),
  characteristic: z.enum(samplingCharacteristics),
  year: z.int(),
  lotId: idSchema,
  lotNumber: z.string(),
  lotSize: z.int(),
  n: z.int().describe("Results that count"),
  mean: z.number().nullable(),
  s: z.number().nullable(),
  percentNonconforming: z.number().describe("Estimated under a plan by variables, else counted"),
  estimated: z.boolean(),
  outcome: z
    .enum(lotOutcomes)
    .describe("Of the whole lot: one characteristic that is not accepted decides for all"),
  change: z
    .object({
      sinceYear: z.int(),
      mean: z.number().nullable(),
      s: z.number().nullable(),
      percentNonconforming: z.number(),
    })
    .nullable()
    .describe("Difference divided by the years between; null for the first year"),
});
export type GroupYear = z.infer<typeof groupYearSchema>;

export const listGroupYears = operation({
  id: "groups.listYears",
  summary: "Year against year: mean, s and percent nonconforming of each series with their yearly change",
  method: "GET",
  path: "/group-years",
  permission: "sampling.read",
  query: z.object({
    ...pageQuery,
    schemeCode: z.string().max(40).optional(),
    series: z.string().max(500).optional(),
  }),
  reply: pageOf(groupYearSchema).describe("By series, characteristic and year"),
});

export const groupOperations = [
  previewProgramme,
  listProgrammes,
  getProgramme,
  createProgramme,
  drawProgramme,
  cancelProgramme,
  resumeProgramme,
  openSecondTry,
  listPulls,
  getPullList,
  listGroupYears,
];
