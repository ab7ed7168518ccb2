import { lotEvaluationSchema } from "@sealbook/metrology/sampling/decision/lot-evaluation-schema";
import { lotPlanSchema } from "@sealbook/metrology/sampling/decision/lot-plan-schema";
import {
  samplingCharacteristics,
  samplingSchemeSchema,
} from "@sealbook/metrology/sampling/decision/sampling-scheme";
import { inspectionSeverities } from "@sealbook/metrology/sampling/sampling-terms";
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
  signatureSchema,
  textSchema,
} from "./common.ts";
import { correctiveActionSchema } from "./corrective-actions.ts";
import { dispositions, lotKinds, lotOutcomes, lotStates } from "./lot-terms.ts";
import { operation } from "./operation.ts";
import { schemeRefSchema } from "./sampling-schemes.ts";

const lotCountsSchema = z.object({
  members: z.int().describe("Meters in the lot"),
  sample: z.int().describe("Places of the sample; 0 before the plan"),
  done: z.int().describe("Places with an outcome: tested, no test possible or left out"),
  leftOut: z.int(),
  sparesUsed: z.int(),
});

/** One lot as lists show it. */
export const lotRowSchema = z.object({
  id: idSchema,
  kind: z.enum(lotKinds),
  number: z.string(),
  title: z.string().describe("What the lot is: maker, type, year set, part"),
  scheme: schemeRefSchema,
  series: z.string().describe("Key of the series that switching follows, without the characteristic"),
  programmeId: idSchema.nullable(),
  year: z.int(),
  typeId: idSchema.nullable().describe("null where a group holds several types"),
  contract: z.string(),
  state: z.enum(lotStates),
  dueOn: dateSchema.nullable().describe("When its results are due"),
  counts: lotCountsSchema,
  severities: z
    .array(
      z.object({
        characteristic: z.enum(samplingCharacteristics),
        severity: z.enum(inspectionSeverities),
      }),
    )
    .describe("Inspection state it was planned under; empty before its plan"),
  outcome: z.enum(lotOutcomes).nullable(),
  disposition: z.enum(dispositions).nullable(),
  resubmitsId: idSchema.nullable(),
  secondTryOfId: idSchema.nullable().describe("The lot whose refusal it tries again"),
  openActions: z.int(),
  createdAt: instantSchema,
});

export type LotRow = z.infer<typeof lotRowSchema>;

export const seedSources = ["typed-dice", "announced-number", "system"] as const;

export type SeedSource = (typeof seedSources)[number];

export const seedSourceNames: Record<SeedSource, string> = {
  "typed-dice": "Dice, thrown before witnesses and typed",
  "announced-number": "A public number, named beforehand",
  system: "Randomness of the operating system",
};

/** How the seed comes about; fixed with the list, before the seed exists. */
export const seedTermsSchema = z.strictObject({
  source: z.enum(seedSources),
  announcement: textSchema(500)
    .nullable()
    .describe("Which number, published by whom and when; needed for an announced number"),
  notBefore: instantSchema.nullable().describe("The seed is refused before this instant"),
});

export type SeedTerms = z.infer<typeof seedTermsSchema>;

export const drawListSchema = z.object({
  id: idSchema,
  ordinal: z.int().describe("1 for the lot's first list"),
  listHash: z.string().describe("SHA-256 of the ordered candidates"),
  candidates: z.int(),
  fileId: idSchema.describe("The list as a file: one utility number a line, in order"),
  n: z.int(),
  spares: z.int(),
  seed: seedTermsSchema,
  repeatsId: idSchema.nullable().describe("The list that this one repeats"),
  repeatReason: z.string().nullable(),
  listedAt: instantSchema,
  listedBy: personRefSchema.nullable(),
  entryId: idSchema,
  draw: z
    .object({
      id: idSchema,
      seed: z.string(),
      algorithm: z.string(),
      key: z.string(),
      drawnAt: instantSchema,
      drawnBy: personRefSchema.nullable(),
      entryId: idSchema,
    })
    .nullable(),
});

export type DrawList = z.infer<typeof drawListSchema>;

export const decisionTestSchema = z.object({
  testId: idSchema,
  meterId: idSchema,
  utilityNumber: z.string(),
  place: z.int(),
  counted: z.boolean().describe("false: a further test of the meter, shown and not counted"),
  performedAt: instantSchema,
  tester: personRefSchema.nullable(),
  supersededById: idSchema.nullable().describe("Amended after the decision"),
});

export const decisionSchema = z.object({
  id: idSchema,
  outcome: z.enum(lotOutcomes),
  byPerson: z.boolean().describe("The arithmetic left it to a person, whose reason stands here"),
  reason: z.string(),
  steady: z.boolean(),
  reducedApproved: z.boolean(),
  evaluation: lotEvaluationSchema,
  tests: z.array(decisionTestSchema),
  decidedAt: instantSchema,
  decidedBy: personRefSchema.nullable(),
  entryId: idSchema,
  recordHash: z.string().describe("Hash of the decision's ledger entry: what the approver signs"),
  approval: signatureSchema.extend({ note: z.string(), entryId: idSchema }).nullable(),
});

export type Decision = z.infer<typeof decisionSchema>;

/** Why the signed-in person may not approve: what they had to do with the sample. */
export const approvalHindranceSchema = z.object({
  kind: z.enum(["role", "decided", "tested", "recorded"]),
  utilityNumber: z.string().nullable(),
  testId: idSchema.nullable(),
  sentence: z.string(),
});

/** A lot, whole, with the steps that it has gone through. */
export const lotSchema = lotRowSchema.extend({
  schemeBody: samplingSchemeSchema,
  purchaseOrder: z.string(),
  receivedOn: dateSchema.nullable(),
  note: z.string(),
  inherits: z
    .array(z.string())
    .describe("Series whose inspection state goes on in this lot, split or merged"),
  makerResults: z.int().describe("Meters with results of the maker"),
  plan: lotPlanSchema.nullable(),
  plannedAt: instantSchema.nullable(),
  plannedBy: personRefSchema.nullable(),
  planEntryId: idSchema.nullable(),
  lists: z.array(drawListSchema).describe("Oldest first; the last one counts"),
  decision: decisionSchema.nullable(),
  hindrances: z
    .array(approvalHindranceSchema)
    .describe("Why the signed-in person may not approve; empty: they may. Filled once the lot is decided"),
  actions: z.array(correctiveActionSchema),
  resubmittedById: idSchema.nullable(),
  secondTry: z
    .object({
      until: dateSchema.describe("Last day on which it may be asked for"),
      condition: z.string().describe("When it may be asked for, in the plan's words"),
      source: z.string(),
      refusal: z.string().nullable().describe("Why it may not be asked for now; null: it may"),
      lotId: idSchema.nullable().describe("The second try, where it was asked for and not given up"),
    })
    .nullable()
    .describe("The second try that the plan grants; null where it knows of none or the lot was not refused"),
  version: z.int(),
  entryId: idSchema,
});

export type Lot = z.infer<typeof lotSchema>;

export const listLots = operation({
  id: "sampling.listLots",
  summary: "Lots, newest first, filtered",
  method: "GET",
  path: "/lots",
  permission: "sampling.read",
  query: z.object({
    ...pageQuery,
    kind: z.enum(lotKinds).optional(),
    state: z.enum(lotStates).optional(),
    series: z.string().max(500).optional().describe("All lots of one series: the maker's lots over time"),
    programmeId: idSchema.optional(),
    q: z.string().max(80).optional().describe("Any part of the number or the title"),
  }),
  reply: pageOf(lotRowSchema),
});

export const getLot = operation({
  id: "sampling.getLot",
  summary: "One lot with plan, lists, draw, decision and actions",
  method: "GET",
  path: "/lots/:id",
  permission: "sampling.read",
  params: idParams,
  reply: lotSchema,
  problems: ["not-found"],
});

export const lotMemberSchema = z.object({
  meterId: idSchema,
  utilityNumber: z.string(),
  serial: z.string(),
  maker: z.string(),
  model: z.string(),
  makerResult: z
    .array(z.object({ label: z.string(), registrationPercent: z.string() }))
    .describe("The maker's own results, for information; they decide nothing"),
});

export const listLotMembers = operation({
  id: "sampling.listLotMembers",
  summary: "Meters of a lot by utility number",
  method: "GET",
  path: "/lots/:id/members",
  permission: "sampling.read",
  params: idParams,
  query: z.object({ ...pageQuery }),
  reply: pageOf(lotMemberSchema),
  problems: ["not-found"],
});

export const planLot = operation({
  id: "sampling.planLot",
  summary: "Fix the meters of a lot and its plan, under the severity that its series has come to",
  method: "POST",
  path: "/lots/:id/plan",
  permission: "sampling.run",
  params: idParams,
  body: z.strictObject({ dueOn: dateSchema.nullable() }),
  reply: lotSchema,
  versioned: true,
  problems: ["not-found", "stale", "wrong-state", "refused-by-rule"],
});

export const listCandidates = operation({
  id: "sampling.listCandidates",
  summary: "Publish the candidate list: its hash enters the ledger before the seed exists",
  method: "POST",
  path: "/lots/:id/lists",
  permission: "sampling.run",
  params: idParams,
  body: z.strictObject({
    id: idSchema,
    seed: seedTermsSchema,
    repeats: z
      .strictObject({ id: idSchema, reason: reasonSchema })
      .nullable()
      .describe("A second list needs a reason; the first and its draw stay on record"),
  }),
  reply: lotSchema,
  status: 201,
  idempotent: true,
  problems: ["not-found", "already-exists", "wrong-state", "refused-by-rule"],
});

export const getCandidates = operation({
  id: "sampling.getCandidates",
  summary: "A candidate list as it was hashed: one utility number a line",
  method: "GET",
  path: "/draw-lists/:id/candidates",
  permission: "sampling.read",
  params: idParams,
  reply: "file",
  problems: ["not-found"],
});

/** A seed is used exactly as written: it keeps spaces inside and has none around. */
export const seedSchema = lineSchema(300);

export const drawFromList = operation({
  id: "sampling.draw",
  summary: "Draw from a published list, once",
  method: "POST",
  path: "/draw-lists/:id/draw",
  permission: "sampling.run",
  params: idParams,
  body: z.strictObject({
    id: idSchema,
    seed: seedSchema.nullable().describe("null where the operating system gives it"),
  }),
  reply: lotSchema,
  status: 201,
  idempotent: true,
  problems: ["not-found", "already-exists", "wrong-state", "refused-by-rule"],
});

export const evaluateLot = operation({
  id: "sampling.evaluate",
  summary: "Running tally of a lot: what its results say so far",
  method: "GET",
  path: "/lots/:id/evaluation",
  permission: "sampling.read",
  params: idParams,
  reply: lotEvaluationSchema,
  problems: ["not-found", "wrong-state"],
});

export const decideLot = operation({
  id: "sampling.decide",
  summary: "Decide a lot from its results; refused until every place has an outcome",
  method: "POST",
  path: "/lots/:id/decision",
  permission: "sampling.decide",
  params: idParams,
  body: z.strictObject({
    id: idSchema,
    outcome: z
      .enum(["accepted", "not-accepted"])
      .nullable()
      .describe("Only where the evaluation leaves it to a person; null otherwise"),
    reason: textSchema(2000).describe("Needed where a person decides"),
    steady: z.boolean().describe("Production, or what stands for it, is at a steady rate"),
    reducedApproved: z.boolean().describe("The responsible authority approves reduced inspection"),
  }),
  reply: lotSchema,
  status: 201,
  idempotent: true,
  problems: ["not-found", "already-exists", "wrong-state", "refused-by-rule"],
});

export const approveDecision = operation({
  id: "sampling.approve",
  summary: "Approve a decision with one's password; refused to whoever tested, recorded or decided",
  method: "POST",
  path: "/lots/:id/approval",
  permission: "sampling.approve",
  params: idParams,
  body: z.strictObject({ id: idSchema, password: z.string().max(200), note: textSchema(1000) }),
  reply: lotSchema,
  status: 201,
  problems: ["not-found", "already-exists", "wrong-state", "not-independent", "sign-in-refused"],
});

export const getDecisionSheet = operation({
  id: "sampling.getDecisionSheet",
  summary: "The decision of a lot as a PDF document with all arithmetic",
  method: "GET",
  path: "/lots/:id/decision-sheet",
  permission: "sampling.read",
  params: idParams,
  reply: "file",
  problems: ["not-found", "wrong-state"],
});

export const withdrawLot = operation({
  id: "sampling.withdraw",
  summary: "Give a lot up before its draw, with a reason",
  method: "POST",
  path: "/lots/:id/withdrawal",
  permission: "sampling.run",
  params: idParams,
  body: z.strictObject({ reason: reasonSchema }),
  reply: lotSchema,
  versioned: true,
  problems: ["not-found", "stale", "wrong-state"],
});

export const closeGroup = operation({
  id: "sampling.closeGroup",
  summary: "Close a group in service that was not accepted, once all its corrective actions are done",
  method: "POST",
  path: "/lots/:id/closure",
  permission: "sampling.decide",
  params: idParams,
  body: z.strictObject({ reason: reasonSchema }),
  reply: lotSchema,
  versioned: true,
  problems: ["not-found", "stale", "wrong-state", "refused-by-rule"],
});

export const samplingOperations = [
  listLots,
  getLot,
  listLotMembers,
  planLot,
  listCandidates,
  getCandidates,
  drawFromList,
  evaluateLot,
  decideLot,
  approveDecision,
  getDecisionSheet,
  withdrawLot,
  closeGroup,
];
