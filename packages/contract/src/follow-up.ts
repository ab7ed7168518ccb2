import { absenceReasons } from "@sealbook/metrology/sampling/decision/sampling-scheme";
import { z } from "zod";
import { idParams, idSchema, instantSchema, personRefSchema, reasonSchema, textSchema } from "./common.ts";
import { verdicts } from "./meters.ts";
import { operation } from "./operation.ts";

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
  params: idParams,
  reply: z.object({ rows: z.array(drawUnitSchema).max(10_000) }),
  problems: ["not-found"],
});

export const recordDrawEvents = operation({
  id: "sampling.recordEvents",
  summary: "Follow sampled meters up; a meter that cannot be had calls up a spare where the scheme allows it",
  method: "POST",
  path: "/lots/:id/events",
  permission: "sampling.follow",
  params: idParams,
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
  params: idParams,
  body: z.strictObject({ id: idSchema, eventId: idSchema, reason: reasonSchema }),
  reply: z.object({ units: z.array(drawUnitSchema).describe("The units that changed") }),
  status: 201,
  idempotent: true,
  problems: ["not-found", "wrong-state", "refused-by-rule", "already-exists"],
});

export const followUpOperations = [listDrawUnits, recordDrawEvents, takeBackDrawEvent];
