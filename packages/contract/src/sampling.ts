import { lotEvaluationSchema } from "@sealbook/metrology/sampling/decision/lot-evaluation-schema";
import { lotPlanSchema } from "@sealbook/metrology/sampling/decision/lot-plan-schema";
import {
  absenceReasons,
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
import { verdicts } from "./meters.ts";
import { operation } from "./operation.ts";

// ---------------------------------------------------------------------------------------------------------------
// Schemes

/** A scheme never changes: a change is a new revision, and lots keep the one they were made under. */
export const schemeSchema = z.object({
  id: idSchema,
  code: z.string(),
  revision: z.int(),
  name: z.string(),
  body: samplingSchemeSchema,
  recordedAt: instantSchema,
  recordedBy: personRefSchema.nullable(),
  current: z.boolean().describe("Whether it is the newest revision of its code"),
  entryId: idSchema,
});
export type Scheme = z.infer<typeof schemeSchema>;

export const schemeRefSchema = z.object({
  id: idSchema,
  code: z.string(),
  revision: z.int(),
  name: z.string(),
});

export const schemeCodeSchema = z
  .string()
  .regex(/^[A-Z0-9][A-Z0-9-]{1,39}$/, "capital letters, digits and dashes");

export const listSchemes = operation({
  id: "sampling.listSchemes",
  summary: "Sampling schemes, current revisions by code",
  method: "GET",
  path: "/sampling-schemes",
  permission: "sampling.read",
  query: z.object({ ...pageQuery, purpose: z.enum(["shipment", "in-service"]).optional() }),
  reply: pageOf(schemeSchema),
});

export const getScheme = operation({
  id: "sampling.getScheme",
  summary: "One revision of a sampling scheme with its revisions",
  method: "GET",
  path: "/sampling-schemes/:id",
  permission: "sampling.read",
  params: idParams,
  reply: schemeSchema.extend({ revisions: z.array(schemeRefSchema).describe("Newest first") }),
  problems: ["not-found"],
});

export const addScheme = operation({
  id: "sampling.addScheme",
  summary: "Add a sampling scheme, or a new revision of one (same code, next revision)",
  method: "POST",
  path: "/sampling-schemes",
  permission: "sampling.manageSchemes",
  body: z.strictObject({
    id: idSchema,
    code: schemeCodeSchema,
    revision: z.int().min(1).max(999),
    name: lineSchema(120),
    body: samplingSchemeSchema,
    reason: reasonSchema,
  }),
  reply: schemeSchema,
  status: 201,
  idempotent: true,
  problems: ["already-exists", "refused-by-rule"],
});

// ---------------------------------------------------------------------------------------------------------------
// Lots

export const lotKinds = ["shipment", "in-service"] as const;
export type LotKind = (typeof lotKinds)[number];
export const lotKindNames: Record<LotKind, string> = {
  shipment: "Shipment",
  "in-service": "Group in service",
};

/**
 * forming: meters may be added. planned: the plan stands, the meters are fixed. listed: the candidate list's hash is in
 * the ledger. drawn: the sample is known and followed. decided: signed off by nobody yet. approved: the decision
 * stands. closed: what follows from it is done. withdrawn: given up before its draw.
 */
export const lotStates = [
  "forming",
  "planned",
  "listed",
  "drawn",
  "decided",
  "approved",
  "closed",
  "withdrawn",
] as const;
export type LotState = (typeof lotStates)[number];
export const lotStateNames: Record<LotState, string> = {
  forming: "Taking in meters",
  planned: "Planned",
  listed: "List published",
  drawn: "Drawn, being tested",
  decided: "Decided, awaits approval",
  approved: "Decision approved",
  closed: "Closed",
  withdrawn: "Withdrawn",
};

export const lotOutcomes = ["accepted", "accepted-return-to-normal", "not-accepted"] as const;
export type LotOutcome = (typeof lotOutcomes)[number];
export const lotOutcomeNames: Record<LotOutcome, string> = {
  accepted: "Accepted",
  "accepted-return-to-normal": "Accepted, normal inspection returns",
  "not-accepted": "Not accepted",
};

/** What came of a lot after its decision was approved. */
export const dispositions = [
  "released",
  "returned",
  "resubmitted",
  "kept-in-service",
  "corrected",
  "tried-again",
] as const;
export const dispositionNames: Record<(typeof dispositions)[number], string> = {
  released: "Released to stock",
  returned: "Returned to the maker",
  resubmitted: "Screened and resubmitted",
  "kept-in-service": "Kept in service",
  corrected: "Corrective actions done",
  "tried-again": "Decided by a second try",
};

/** Where a place of the sample stands. */
export const unitStates = [
  "waiting",
  "asked",
  "pulled",
  "received",
  "tested",
  "no-test-possible",
  "replaced",
  "left-out",
  "spare",
] as const;
export type UnitState = (typeof unitStates)[number];
export const unitStateNames: Record<UnitState, string> = {
  waiting: "Waiting",
  asked: "Asked for",
  pulled: "Pulled",
  received: "In the shop",
  tested: "Tested",
  "no-test-possible": "No test possible",
  replaced: "Replaced by a spare",
  "left-out": "Left out",
  spare: "Spare, not called up",
};

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

export const correctiveActionKinds = [
  "accelerate",
  "split",
  "retire-by",
  "screen-and-resubmit",
  "return-to-maker",
  "other",
] as const;
export const correctiveActionNames: Record<(typeof correctiveActionKinds)[number], string> = {
  accelerate: "Accelerate testing",
  split: "Split the group",
  "retire-by": "Retire by a date",
  "screen-and-resubmit": "Screen and resubmit",
  "return-to-maker": "Return to the maker",
  other: "Other action",
};

export const correctiveActionSchema = z.object({
  id: idSchema,
  lotId: idSchema,
  lotKind: z.enum(lotKinds),
  lotNumber: z.string(),
  lotTitle: z.string(),
  kind: z.enum(correctiveActionKinds),
  detail: z.string(),
  owner: personRefSchema,
  dueOn: dateSchema,
  doneOn: dateSchema.nullable(),
  doneNote: z.string(),
  version: z.int(),
  entryId: idSchema,
});
export type CorrectiveAction = z.infer<typeof correctiveActionSchema>;

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

const lotParams = z.object({ id: idSchema });

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
  params: lotParams,
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
  params: lotParams,
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
  params: lotParams,
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
  params: lotParams,
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

export const drawEventKinds = [
  "asked",
  "pulled",
  "received",
  "not-reached",
  "moved",
  "retired",
  "left-out",
  "called-up",
] as const;
export const drawEventNames: Record<(typeof drawEventKinds)[number], string> = {
  asked: "Asked for",
  pulled: "Pulled",
  received: "Received in the shop",
  "not-reached": "Could not be reached",
  moved: "Moved before the pull",
  retired: "Retired before the pull",
  "left-out": "Left out",
  "called-up": "Spare called up",
};

export const drawEventSchema = z.object({
  id: idSchema,
  kind: z.enum(drawEventKinds),
  reason: z.enum(absenceReasons).nullable(),
  note: z.string(),
  at: instantSchema,
  by: personRefSchema.nullable(),
  takenBack: z
    .object({ reason: z.string(), at: instantSchema, by: personRefSchema.nullable() })
    .nullable()
    .describe("Recorded in error: it stays on record and counts for nothing"),
});
export type DrawEvent = z.infer<typeof drawEventSchema>;

/** A drawn meter: a place of the sample or a spare. */
export const drawUnitSchema = z.object({
  position: z.int().describe("In the order drawn; the sample first, then the spares"),
  place: z.int().nullable().describe("Place of the sample that it fills; null for a spare not called up"),
  spare: z.boolean(),
  meterId: idSchema,
  utilityNumber: z.string(),
  serial: z.string(),
  servicePoint: z.string().nullable().describe("Number of the service point where it stands now"),
  area: z.string().nullable(),
  address: z.string().nullable(),
  state: z.enum(unitStates),
  events: z.array(drawEventSchema).describe("Oldest first"),
  test: z
    .object({
      id: idSchema,
      performedAt: instantSchema,
      verdict: z.enum(verdicts),
      fullLoad: z.string().nullable(),
      lightLoad: z.string().nullable(),
      powerFactor: z.string().nullable(),
      average: z.string().nullable(),
      tester: personRefSchema.nullable(),
    })
    .nullable()
    .describe("The test that counts: the first as-found test after the draw with the lot's reason"),
  furtherTests: z.array(z.object({ id: idSchema, performedAt: instantSchema })).describe("Not counted"),
  monthsSinceLastTest: z
    .int()
    .nullable()
    .describe("Whole months between the last test before the draw and the one that counts, or today"),
  workItemId: idSchema.nullable(),
});
export type DrawUnit = z.infer<typeof drawUnitSchema>;

export const listDrawUnits = operation({
  id: "sampling.listUnits",
  summary: "The sample and its spares with follow-up and results; empty before the draw",
  method: "GET",
  path: "/lots/:id/units",
  permission: "sampling.read",
  params: lotParams,
  reply: z.object({ rows: z.array(drawUnitSchema).max(10_000) }),
  problems: ["not-found"],
});

export const recordDrawEvents = operation({
  id: "sampling.recordEvents",
  summary: "Follow sampled meters up; a meter that cannot be had calls up a spare where the scheme allows it",
  method: "POST",
  path: "/lots/:id/events",
  permission: "sampling.follow",
  params: lotParams,
  body: z.strictObject({
    events: z
      .array(
        z.strictObject({
          id: idSchema,
          position: z.int().min(1),
          kind: z.enum(["asked", "pulled", "received", "not-reached", "moved", "retired", "left-out"]),
          reason: z
            .enum(absenceReasons)
            .nullable()
            .describe("For not-reached and left-out; moved and retired are reasons of their own"),
          note: textSchema(500),
        }),
      )
      .min(1)
      .max(500),
  }),
  reply: z.object({
    units: z.array(drawUnitSchema).describe("The units that changed, spares called up among them"),
    calledUp: z.array(z.object({ position: z.int(), place: z.int(), utilityNumber: z.string() })),
    withoutSpare: z.array(z.int()).describe("Places that stay empty: no spare allowed or none left"),
  }),
  idempotent: true,
  problems: ["not-found", "wrong-state", "refused-by-rule", "already-exists"],
});

export const takeBackDrawEvent = operation({
  id: "sampling.takeBackEvent",
  summary:
    "Take a follow-up back that was recorded in error, while the lot is undecided; an untested spare that it called up goes back",
  method: "POST",
  path: "/lots/:id/taken-back-events",
  permission: "sampling.follow",
  params: lotParams,
  body: z.strictObject({ id: idSchema, eventId: idSchema, reason: reasonSchema }),
  reply: z.object({ units: z.array(drawUnitSchema).describe("The units that changed") }),
  status: 201,
  idempotent: true,
  problems: ["not-found", "wrong-state", "refused-by-rule", "already-exists"],
});

export const evaluateLot = operation({
  id: "sampling.evaluate",
  summary: "Running tally of a lot: what its results say so far",
  method: "GET",
  path: "/lots/:id/evaluation",
  permission: "sampling.read",
  params: lotParams,
  reply: lotEvaluationSchema,
  problems: ["not-found", "wrong-state"],
});

export const decideLot = operation({
  id: "sampling.decide",
  summary: "Decide a lot from its results; refused until every place has an outcome",
  method: "POST",
  path: "/lots/:id/decision",
  permission: "sampling.decide",
  params: lotParams,
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
  params: lotParams,
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
  params: lotParams,
  reply: "file",
  problems: ["not-found", "wrong-state"],
});

export const withdrawLot = operation({
  id: "sampling.withdraw",
  summary: "Give a lot up before its draw, with a reason",
  method: "POST",
  path: "/lots/:id/withdrawal",
  permission: "sampling.run",
  params: lotParams,
  body: z.strictObject({ reason: reasonSchema }),
  reply: lotSchema,
  versioned: true,
  problems: ["not-found", "stale", "wrong-state"],
});

// ---------------------------------------------------------------------------------------------------------------
// Actions

export const listCorrectiveActions = operation({
  id: "sampling.listActions",
  summary: "Corrective actions by due date",
  method: "GET",
  path: "/corrective-actions",
  permission: "sampling.read",
  query: z.object({ ...pageQuery, state: z.enum(["open", "done"]).optional() }),
  reply: pageOf(correctiveActionSchema),
});

export const addCorrectiveAction = operation({
  id: "sampling.addAction",
  summary: "Give a decided lot an action with owner and due date",
  method: "POST",
  path: "/lots/:id/actions",
  permission: "sampling.decide",
  params: lotParams,
  body: z.strictObject({
    id: idSchema,
    kind: z.enum(correctiveActionKinds),
    detail: reasonSchema,
    ownerId: idSchema,
    dueOn: dateSchema,
  }),
  reply: correctiveActionSchema,
  status: 201,
  idempotent: true,
  problems: ["not-found", "already-exists", "wrong-state", "refused-by-rule"],
});

export const changeCorrectiveAction = operation({
  id: "sampling.changeAction",
  summary: "Move an action to another owner or date, or say that it is done",
  method: "PUT",
  path: "/corrective-actions/:id",
  permission: "sampling.decide",
  params: idParams,
  body: z.strictObject({
    ownerId: idSchema,
    dueOn: dateSchema,
    doneOn: dateSchema.nullable(),
    doneNote: textSchema(500),
    reason: reasonSchema,
  }),
  reply: correctiveActionSchema,
  versioned: true,
  problems: ["not-found", "stale", "refused-by-rule"],
});

export const closeGroup = operation({
  id: "sampling.closeGroup",
  summary: "Close a group in service that was not accepted, once all its corrective actions are done",
  method: "POST",
  path: "/lots/:id/closure",
  permission: "sampling.decide",
  params: lotParams,
  body: z.strictObject({ reason: reasonSchema }),
  reply: lotSchema,
  versioned: true,
  problems: ["not-found", "stale", "wrong-state", "refused-by-rule"],
});

// ---------------------------------------------------------------------------------------------------------------
// Switching

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

export const samplingOperations = [
  listSchemes,
  getScheme,
  addScheme,
  listLots,
  getLot,
  listLotMembers,
  planLot,
  listCandidates,
  getCandidates,
  drawFromList,
  listDrawUnits,
  recordDrawEvents,
  takeBackDrawEvent,
  evaluateLot,
  decideLot,
  approveDecision,
  getDecisionSheet,
  withdrawLot,
  listCorrectiveActions,
  addCorrectiveAction,
  changeCorrectiveAction,
  closeGroup,
  getSeries,
  addSwitchingEvent,
];
