import { z } from "zod";
import {
  dateSchema,
  decimalSchema,
  idParams,
  idSchema,
  instantSchema,
  lineSchema,
  pageOf,
  pageQuery,
  personRefSchema,
  textSchema,
} from "./common.ts";
import { meterTypeSchema } from "./meter-types.ts";
import { operation } from "./operation.ts";
import { placeSchema, servicePointSchema } from "./service-points.ts";
import { testReasons } from "./work-items.ts";

export const meterStates = [
  "received",
  "in-stock",
  "issued",
  "in-service",
  "removed",
  "in-shop",
  "retired",
] as const;
export type MeterState = (typeof meterStates)[number];
export const meterStateNames: Record<MeterState, string> = {
  received: "Received",
  "in-stock": "In stock",
  issued: "Issued",
  "in-service": "In service",
  removed: "Removed",
  "in-shop": "In shop",
  retired: "Retired",
};

export const meterEventKinds = [
  "receive",
  "stock",
  "issue",
  "set",
  "remove",
  "return",
  "repair",
  "retire",
] as const;
export const meterEventNames: Record<(typeof meterEventKinds)[number], string> = {
  receive: "Received",
  stock: "Put in stock",
  issue: "Issued",
  set: "Set at a service point",
  remove: "Removed",
  return: "Returned to the shop",
  repair: "Repaired",
  retire: "Retired",
};

export const owners = ["utility", "customer"] as const;

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
});
export type MeterRow = z.infer<typeof meterRowSchema>;

export const meterEventSchema = z.object({
  id: idSchema,
  kind: z.enum(meterEventKinds),
  performedAt: instantSchema,
  recordedAt: instantSchema,
  recordedBy: personRefSchema.nullable(),
  place: placeSchema.nullable(),
  servicePoint: servicePointSchema.nullable(),
  registerReading: z.string().nullable(),
  reason: z.string(),
  entryId: idSchema,
});
export type MeterEvent = z.infer<typeof meterEventSchema>;

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
  events: z.array(meterEventSchema).max(500).describe("Newest first"),
  version: z.int(),
  entryId: idSchema,
});
export type Meter = z.infer<typeof meterSchema>;

export const listMeters = operation({
  id: "meters.list",
  summary: "Meters by utility number, filtered",
  method: "GET",
  path: "/meters",
  permission: "meter.read",
  query: z.object({
    ...pageQuery,
    q: z.string().max(80).optional().describe("Any part of a utility number or serial"),
    state: z.enum(meterStates).optional(),
    typeId: idSchema.optional(),
  }),
  reply: pageOf(meterRowSchema),
});

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

export const meterOperations = [listMeters, findMeter, getMeter, createMeter];
