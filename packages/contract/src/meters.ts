import { type LifeState, lifeEventKinds, lifeStates } from "@sealbook/metrology/life-cycle/legal-moves";
import { z } from "zod";
import {
  dateSchema,
  decimalSchema,
  idParams,
  idSchema,
  instantSchema,
  lineSchema,
  personRefSchema,
  reasonSchema,
  textSchema,
} from "./common.ts";
import { meterTypeSchema } from "./meter-types.ts";
import { operation } from "./operation.ts";
import { placeSchema } from "./places.ts";
import { servicePointSchema } from "./service-points.ts";
import { testReasons } from "./work-items.ts";

export const meterStates = lifeStates;
export type MeterState = LifeState;
export const meterStateNames: Record<MeterState, string> = {
  received: "Received",
  "in-stock": "In stock",
  issued: "Issued",
  "in-service": "In service",
  removed: "Removed",
  "in-shop": "In shop",
  retired: "Retired",
  disposed: "Disposed of",
};

export const meterEventKinds = [...lifeEventKinds, "take-back"] as const;
export type MeterEventKind = (typeof meterEventKinds)[number];
export const meterEventNames: Record<MeterEventKind, string> = {
  receive: "Received",
  stock: "Put in stock",
  issue: "Issued",
  set: "Set at a service point",
  remove: "Removed",
  return: "Returned to the shop",
  repair: "Repaired",
  seal: "Seals changed",
  retire: "Retired",
  dispose: "Disposed of",
  "take-back": "Taken back",
};

export const owners = ["utility", "customer"] as const;
export type Owner = (typeof owners)[number];
export const ownerNames: Record<Owner, string> = { utility: "The utility", customer: "The customer" };

/** A verdict as lists show it. */
export const verdicts = ["pass", "fail", "incomplete", "no-test-possible", "withdrawn"] as const;
export type Verdict = (typeof verdicts)[number];
export const verdictNames: Record<Verdict, string> = {
  pass: "Within limits",
  fail: "Outside limits",
  incomplete: "Incomplete",
  "no-test-possible": "No test possible",
  withdrawn: "Withdrawn",
};

export const meterRowSchema = z.object({
  id: idSchema,
  utilityNumber: z.string(),
  serial: z.string(),
  maker: z.string(),
  model: z.string(),
  form: z.string(),
  state: z.enum(meterStates),
  place: z.string(),
  lastTestOn: dateSchema.nullable(),
  lastVerdict: z.enum(verdicts).nullable().describe("As found"),
  owner: z.enum(owners),
  setOn: dateSchema.nullable().describe("Local date of the last setting at a service point"),
  dueOn: dateSchema.nullable().describe("Local date by which the next periodic test is due"),
});
export type MeterRow = z.infer<typeof meterRowSchema>;

/** One test as the meter's page and the lists show it. */
export const testRowSchema = z.object({
  id: idSchema,
  meterId: idSchema,
  utilityNumber: z.string(),
  performedAt: instantSchema,
  performedOn: dateSchema.describe("Local date of the shop"),
  reasons: z.array(z.enum(testReasons)),
  planCode: z.string(),
  asFound: z.enum(verdicts),
  asLeft: z.enum(verdicts).nullable(),
  averageAsFound: z.string().nullable(),
  averageAsLeft: z.string().nullable(),
  fullLoadAsFound: z.string().nullable(),
  lightLoadAsFound: z.string().nullable(),
  powerFactorAsFound: z.string().nullable(),
  tester: personRefSchema.nullable(),
  standard: z.string().nullable(),
  method: z.enum(["entered", "imported"]),
  signed: z.boolean(),
  supersedesId: idSchema.nullable(),
  supersededById: idSchema.nullable(),
});
export type TestRow = z.infer<typeof testRowSchema>;

/** A legal hold: while it stands, the meter is not moved, repaired, adjusted, retired or disposed of. */
export const meterHoldSchema = z.object({
  id: idSchema,
  reason: z.string(),
  placedAt: instantSchema,
  placedBy: personRefSchema.nullable(),
  entryId: idSchema,
});
export type MeterHold = z.infer<typeof meterHoldSchema>;

export const meterSchema = z.object({
  id: idSchema,
  utilityNumber: z.string(),
  serial: z.string(),
  owner: z.enum(owners),
  type: meterTypeSchema,
  firmware: z.string(),
  program: z.string(),
  purchasedOn: dateSchema.nullable(),
  state: z.enum(meterStates),
  place: placeSchema,
  servicePoint: servicePointSchema.nullable(),
  jurisdiction: z.string().describe("Of the service point, else the shop's home"),
  seals: z.array(z.string()).describe("Seals on it, out of its moves and tests"),
  holds: z
    .array(meterHoldSchema)
    .describe("Legal holds that stand; while one does the meter may not be touched"),
  sameNumber: z
    .array(z.object({ id: idSchema, serial: z.string(), maker: z.string(), state: z.enum(meterStates) }))
    .max(20)
    .describe("Other meters that carried this utility number"),
  version: z.int(),
  entryId: idSchema,
});
export type Meter = z.infer<typeof meterSchema>;

export const findMeter = operation({
  id: "meters.find",
  summary: "The meter with exactly this utility number or serial; several when a serial is not unique",
  method: "GET",
  path: "/meters/find",
  permission: "meter.read",
  query: z.object({ number: z.string().min(1).max(80) }),
  reply: z.object({ rows: z.array(meterRowSchema).max(20) }),
});

export const getMeter = operation({
  id: "meters.get",
  summary: "One meter: nameplate, where it has been, every test",
  method: "GET",
  path: "/meters/:id",
  permission: "meter.read",
  params: idParams,
  reply: meterSchema,
  problems: ["not-found"],
});

export const newMeterSchema = z.strictObject({
  id: idSchema,
  utilityNumber: lineSchema(40).describe("Badge or utility number, text, leading zeros kept"),
  serial: lineSchema(40).describe("Maker's serial, text, leading zeros kept"),
  owner: z.enum(owners),
  typeId: idSchema,
  firmware: textSchema(40),
  program: textSchema(40),
  purchasedOn: dateSchema.nullable(),
  placeId: idSchema.describe("Where it is now"),
  registerReading: decimalSchema.nullable(),
});
export type NewMeter = z.infer<typeof newMeterSchema>;

export const createMeter = operation({
  id: "meters.create",
  summary:
    "Add a meter from its nameplate; at a service point it counts as in service, elsewhere as received",
  method: "POST",
  path: "/meters",
  permission: "meter.create",
  body: newMeterSchema,
  reply: z.object({ id: idSchema }),
  status: 201,
  idempotent: true,
  problems: ["already-exists", "refused-by-rule"],
});

export const changeMeter = operation({
  id: "meters.change",
  summary: "Correct a meter's nameplate, with a reason; where it is follows from its events alone",
  method: "PUT",
  path: "/meters/:id",
  permission: "meter.change",
  params: idParams,
  body: newMeterSchema
    .omit({ id: true, placeId: true, registerReading: true })
    .extend({ reason: reasonSchema }),
  reply: meterSchema,
  versioned: true,
  problems: ["not-found", "stale", "already-exists", "refused-by-rule"],
});

export const meterOperations = [findMeter, getMeter, createMeter, changeMeter];
