import { lifeEventKinds } from "@sealbook/metrology/life-cycle/legal-moves";
import { type ReadingNote, readingNotes } from "@sealbook/metrology/life-cycle/reading-question";
import { z } from "zod";
import {
  dateSchema,
  idParams,
  idSchema,
  instantSchema,
  lineSchema,
  notNegativeDecimalSchema,
  pageOf,
  pageQuery,
  personRefSchema,
  reasonSchema,
  textSchema,
} from "./common.ts";
import { meterEventKinds, meterHoldSchema, meterSchema, owners, verdicts } from "./meters.ts";
import { operation } from "./operation.ts";
import { placeSchema } from "./places.ts";
import { servicePointSchema } from "./service-points.ts";
import { testReasons } from "./work-items.ts";

/** What happens to a meter: its moves one by one and by the tray, what takes them back, its story, its legal holds. */

/** What can be said of a register reading that is missing or goes backwards. */
export const readingNoteNames: Record<ReadingNote, string> = {
  "rolled-over": "The register rolled over",
  "register-replaced": "The register was replaced or reset",
  "not-readable": "It cannot be read",
};

const readingFields = {
  registerReading: notNegativeDecimalSchema.nullable().describe("Digits of the register as read"),
  readingNote: z
    .enum(readingNotes)
    .nullable()
    .describe("Why the reading is missing, or lower than the one before it"),
};

const sealNumbersSchema = z.array(lineSchema(40)).max(12);

/** Who may do what to a meter is one permission; what is legal follows from its state. */
export const recordMeterEvent = operation({
  id: "meterEvents.record",
  summary:
    "Record what happened to one meter: a move, a repair, a change of seals, its retirement or disposal",
  method: "POST",
  path: "/meters/:id/events",
  permission: "meter.move",
  params: idParams,
  body: z.strictObject({
    id: idSchema,
    kind: z.enum(lifeEventKinds).exclude(["receive"]),
    performedAt: instantSchema.nullable().describe("null is now"),
    placeId: idSchema.nullable().describe("Where it leads; null for what leaves the meter where it is"),
    ...readingFields,
    sealsOn: sealNumbersSchema,
    sealsOff: sealNumbersSchema,
    reason: textSchema(500),
  }),
  reply: meterSchema,
  status: 201,
  idempotent: true,
  problems: ["not-found", "refused-by-rule", "meter-held", "illegal-move"],
});

/** Kinds that a tray can be moved by: to set meters, each needs a service point of its own. */
export const trayKinds = ["stock", "issue", "return", "remove", "repair", "retire", "dispose"] as const;
export type TrayKind = (typeof trayKinds)[number];

/** Most meters moved or received at once. */
export const trayMost = 5_000;

/** Why a line of a tray or of a receipt is not done. */
export const lineProblemNames = {
  unknown: "Not on record",
  ambiguous: "Several meters",
  twice: "Twice in the list",
  illegal: "Not a legal move",
  breaks: "Later events would not hold",
  held: "Legal hold",
  reading: "Register reading",
  place: "Place",
  "already-here": "There already",
  "on-record": "On record already",
  "number-taken": "Utility number in use",
} as const;
export type LineProblemCode = keyof typeof lineProblemNames;

const lineProblemSchema = z.object({
  line: z.int().describe("Place in the list, from 1"),
  number: z.string(),
  code: z.enum(Object.keys(lineProblemNames) as [LineProblemCode, ...LineProblemCode[]]),
  detail: z.string(),
});
export type LineProblem = z.infer<typeof lineProblemSchema>;

const moveFields = {
  kind: z.enum(trayKinds),
  performedAt: instantSchema.nullable().describe("null is now"),
  placeId: idSchema.nullable(),
  reason: textSchema(500),
  lines: z
    .array(
      z.strictObject({
        number: lineSchema(40).describe("Utility number or maker's serial"),
        ...readingFields,
      }),
    )
    .min(1)
    .max(trayMost),
};

const previewSchema = z.object({
  ready: z.int().describe("Lines that can be done"),
  problems: z.array(lineProblemSchema).max(trayMost),
  notes: z.array(z.object({ line: z.int(), number: z.string(), detail: z.string() })).max(trayMost),
});
export type LinesPreview = z.infer<typeof previewSchema>;

const confirmFields = {
  onlyGood: z.boolean().describe("Leave out lines with a problem; otherwise all or none"),
  expected: z.int().min(1).describe("Lines that the preview said are ready"),
};

export const checkMeterMove = operation({
  id: "meterEvents.checkMove",
  summary: "Look what moving a tray would come to; changes nothing",
  method: "POST",
  path: "/meter-moves/check",
  permission: "meter.move",
  body: z.strictObject(moveFields),
  reply: previewSchema,
  problems: ["refused-by-rule"],
});

export const meterMoveSchema = z.object({
  id: idSchema,
  kind: z.enum(meterEventKinds),
  performedAt: instantSchema,
  recordedAt: instantSchema,
  recordedBy: personRefSchema.nullable(),
  place: placeSchema.nullable(),
  reason: z.string(),
  meters: z.int(),
  takesBackId: idSchema.nullable().describe("The move that this one takes back"),
  takenBackById: idSchema.nullable().describe("The move that takes this one back"),
  entryId: idSchema,
});
export type MeterMove = z.infer<typeof meterMoveSchema>;

export const moveMeterTray = operation({
  id: "meterEvents.moveTray",
  summary: "Move a tray of meters: one transaction, one ledger entry that binds every row",
  method: "POST",
  path: "/meter-moves",
  permission: "meter.move",
  body: z.strictObject({ id: idSchema, ...moveFields, ...confirmFields }),
  reply: z.object({ move: meterMoveSchema, leftOut: z.array(lineProblemSchema).max(trayMost) }),
  status: 201,
  idempotent: true,
  problems: ["refused-by-rule", "wrong-state"],
});

export const listMeterMoves = operation({
  id: "meterEvents.listMoves",
  summary: "Moves, newest first",
  method: "GET",
  path: "/meter-moves",
  permission: "meter.read",
  query: z.object({ ...pageQuery }),
  reply: pageOf(meterMoveSchema),
});

export const getMeterMove = operation({
  id: "meterEvents.getMove",
  summary: "One move",
  method: "GET",
  path: "/meter-moves/:id",
  permission: "meter.read",
  params: idParams,
  reply: meterMoveSchema,
  problems: ["not-found"],
});

const movedMeterSchema = z.object({
  eventId: idSchema,
  meterId: idSchema,
  utilityNumber: z.string(),
  serial: z.string(),
  registerReading: z.string().nullable(),
  takenBack: z.boolean(),
});

export const listMovedMeters = operation({
  id: "meterEvents.listMoved",
  summary: "The meters of one move",
  method: "GET",
  path: "/meter-moves/:id/meters",
  permission: "meter.read",
  params: idParams,
  query: z.object({ ...pageQuery }),
  reply: pageOf(movedMeterSchema),
});

export const takeBackMeterMove = operation({
  id: "meterEvents.takeBackMove",
  summary: "Take a whole move back by a counter-move that names it",
  method: "POST",
  path: "/meter-moves/:id/take-back",
  permission: "meter.move",
  params: idParams,
  body: z.strictObject({ id: idSchema, reason: reasonSchema }),
  reply: meterMoveSchema,
  status: 201,
  idempotent: true,
  problems: ["not-found", "already-exists", "refused-by-rule", "meter-held"],
});

export const takeBackMeterEvent = operation({
  id: "meterEvents.takeBack",
  summary: "Take one event of a meter back by a counter-event that names it",
  method: "POST",
  path: "/meter-events/:id/take-back",
  permission: "meter.move",
  params: idParams,
  body: z.strictObject({ id: idSchema, reason: reasonSchema }),
  reply: meterSchema,
  status: 201,
  idempotent: true,
  problems: ["not-found", "already-exists", "refused-by-rule", "meter-held"],
});

// ---------------------------------------------------------------------------------------------------------------
// Receiving

const receiptFields = {
  typeId: idSchema,
  owner: z.enum(owners),
  placeId: idSchema,
  purchasedOn: dateSchema.nullable(),
  performedAt: instantSchema.nullable().describe("null is now"),
  firmware: textSchema(40),
  program: textSchema(40),
  reason: textSchema(500),
  lines: z
    .array(z.strictObject({ serial: lineSchema(40), utilityNumber: lineSchema(40) }))
    .min(1)
    .max(trayMost),
};

export const checkMeterReceipt = operation({
  id: "meterEvents.checkReceipt",
  summary: "Look what receiving a list of serials would come to; changes nothing",
  method: "POST",
  path: "/meter-receipts/check",
  permission: "meter.create",
  body: z.strictObject(receiptFields),
  reply: previewSchema,
  problems: ["refused-by-rule"],
});

export const receiveMeters = operation({
  id: "meterEvents.receive",
  summary: "Receive a list of meters by serial and utility number: one transaction, one ledger entry",
  method: "POST",
  path: "/meter-receipts",
  permission: "meter.create",
  body: z.strictObject({ id: idSchema, ...receiptFields, ...confirmFields }),
  reply: z.object({ move: meterMoveSchema, leftOut: z.array(lineProblemSchema).max(trayMost) }),
  status: 201,
  idempotent: true,
  problems: ["refused-by-rule", "wrong-state"],
});

// ---------------------------------------------------------------------------------------------------------------
// The story

const storyEventSchema = z.object({
  kind: z.literal("event"),
  id: idSchema,
  at: instantSchema,
  event: z.enum(meterEventKinds),
  recordedAt: instantSchema,
  by: personRefSchema.nullable(),
  place: placeSchema.nullable(),
  servicePoint: servicePointSchema.nullable(),
  registerReading: z.string().nullable(),
  readingNote: z.enum(readingNotes).nullable(),
  sealsOn: z.array(z.string()),
  sealsOff: z.array(z.string()),
  reason: z.string(),
  move: z.object({ id: idSchema, meters: z.int() }).nullable(),
  takesBack: z.object({ id: idSchema, kind: z.enum(meterEventKinds), at: instantSchema }).nullable(),
  takenBackBy: z
    .object({ id: idSchema, at: instantSchema, by: personRefSchema.nullable(), reason: z.string() })
    .nullable(),
  entryId: idSchema,
});

/** One thing in a meter's story: an event, a test, a hold placed or lifted. */
export const storyItemSchema = z.discriminatedUnion("kind", [
  storyEventSchema,
  z.object({
    kind: z.literal("test"),
    id: idSchema,
    at: instantSchema,
    outcome: z.enum(["tested", "no-test-possible"]),
    reasons: z.array(z.enum(testReasons)),
    asFound: z.enum(verdicts),
    asLeft: z.enum(verdicts).nullable(),
    registrations: z
      .object({
        average: z.string().nullable(),
        fullLoad: z.string().nullable(),
        lightLoad: z.string().nullable(),
      })
      .describe("As found, percent"),
    averageAsLeft: z.string().nullable(),
    by: personRefSchema.nullable(),
    sealsOn: z.array(z.string()),
    sealsOff: z.array(z.string()),
    registerReading: z.string().nullable(),
    entryId: idSchema,
  }),
  z.object({
    kind: z.enum(["hold", "lift"]),
    id: idSchema,
    at: instantSchema,
    by: personRefSchema.nullable(),
    reason: z.string(),
    entryId: idSchema,
  }),
]);
export type StoryItem = z.infer<typeof storyItemSchema>;
export type StoryEvent = z.infer<typeof storyEventSchema>;

export const getMeterStory = operation({
  id: "meterEvents.story",
  summary: "A meter's story, newest first: events, tests, legal holds",
  method: "GET",
  path: "/meters/:id/story",
  permission: "meter.read",
  params: idParams,
  query: z.object({ ...pageQuery }),
  reply: pageOf(storyItemSchema),
});

// ---------------------------------------------------------------------------------------------------------------
// Legal holds

export const placeMeterHold = operation({
  id: "meterEvents.placeHold",
  summary: "Place a legal hold: the meter may not be touched until it is lifted",
  method: "POST",
  path: "/meters/:id/holds",
  permission: "meter.hold",
  params: idParams,
  body: z.strictObject({ id: idSchema, reason: reasonSchema }),
  reply: meterHoldSchema,
  status: 201,
  idempotent: true,
  problems: ["not-found", "refused-by-rule"],
});

export const liftMeterHold = operation({
  id: "meterEvents.liftHold",
  summary: "Lift a legal hold; by who placed it, or by a supervisor once that account is closed",
  method: "POST",
  path: "/meter-holds/:id/lift",
  permission: "meter.hold",
  params: idParams,
  body: z.strictObject({ reason: reasonSchema }),
  idempotent: true,
  problems: ["not-found", "already-exists", "refused-by-rule"],
});

export const meterEventOperations = [
  recordMeterEvent,
  checkMeterMove,
  moveMeterTray,
  listMeterMoves,
  getMeterMove,
  listMovedMeters,
  takeBackMeterMove,
  takeBackMeterEvent,
  checkMeterReceipt,
  receiveMeters,
  getMeterStory,
  placeMeterHold,
  liftMeterHold,
];
