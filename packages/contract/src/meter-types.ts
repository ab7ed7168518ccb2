import { z } from "zod";
import {
  idParams,
  idSchema,
  lineSchema,
  pageOf,
  pageQuery,
  positiveDecimalSchema,
  reasonSchema,
} from "./common.ts";
import { operation } from "./operation.ts";

export const accuracyClasses = ["0.1", "0.2", "0.5", "1", "2"] as const;
export const technologies = ["electromechanical", "solid-state"] as const;

/** Factors for circuits that the table of forms does not know, given by a person. */
export const circuitFactorsSchema = z.partialRecord(
  z.enum(["series", "element-a", "element-b", "element-c", "common-coil", "one-coil"]),
  positiveDecimalSchema,
);

const meterTypeFields = {
  maker: lineSchema(80),
  model: lineSchema(80),
  form: z
    .string()
    .regex(/^\d{1,2}[AS]$/, "an ANSI form such as 9S")
    .describe("ANSI form"),
  phases: z.int().min(1).max(3),
  wires: z.int().min(2).max(4),
  elements: z.enum(["1", "2", "2.5", "3"]).describe("Elements (stators); 2.5 is a 2 1/2-element meter"),
  classAmperes: positiveDecimalSchema.describe("Class: maximum amperes"),
  testAmperes: positiveDecimalSchema.describe("Nameplate test current, amperes"),
  voltsMin: positiveDecimalSchema.describe("Lowest rated voltage"),
  voltsMax: positiveDecimalSchema.describe("Highest rated voltage; equal to the lowest for one voltage"),
  designVolts: positiveDecimalSchema.describe("Nominal design voltage, to which Kh belongs"),
  kh: positiveDecimalSchema.describe("Watthour constant, Wh per revolution or its equivalent"),
  kt: positiveDecimalSchema.nullable().describe("Wh per pulse of the test output; null without one"),
  accuracyClass: z.enum(accuracyClasses),
  technology: z.enum(technologies),
  registerDials: z.int().min(4).max(9),
  registerMultiplier: positiveDecimalSchema,
  testPlanCode: lineSchema(40).describe("Code of the test plan for this type"),
  circuitFactors: circuitFactorsSchema.describe("Only where the table of forms does not know"),
};

export const meterTypeSchema = z.object({
  id: idSchema,
  ...meterTypeFields,
  retired: z.boolean().describe("No new meters of this type are taken in"),
  version: z.int(),
});
export type MeterType = z.infer<typeof meterTypeSchema>;

export const newMeterTypeSchema = z.strictObject({ id: idSchema, ...meterTypeFields });
export const meterTypeEditSchema = z.strictObject({
  ...meterTypeFields,
  retired: z.boolean(),
  reason: reasonSchema,
});

export const meterTypeRowSchema = meterTypeSchema.extend({
  meters: z.int().describe("Meters of this type on record"),
});

export const listMeterTypes = operation({
  id: "meterTypes.list",
  summary: "Meter types by maker and model",
  method: "GET",
  path: "/meter-types",
  permission: "meterType.read",
  query: z.object({ ...pageQuery }),
  reply: pageOf(meterTypeRowSchema),
});

export const getMeterType = operation({
  id: "meterTypes.get",
  summary: "One meter type",
  method: "GET",
  path: "/meter-types/:id",
  permission: "meterType.read",
  params: idParams,
  reply: meterTypeSchema,
  problems: ["not-found"],
});

export const createMeterType = operation({
  id: "meterTypes.create",
  summary: "Add a meter type from its nameplate",
  method: "POST",
  path: "/meter-types",
  permission: "meterType.manage",
  body: newMeterTypeSchema,
  reply: meterTypeSchema,
  status: 201,
  idempotent: true,
  problems: ["already-exists", "refused-by-rule"],
});

export const changeMeterType = operation({
  id: "meterTypes.change",
  summary: "Change a meter type, with a reason",
  method: "PUT",
  path: "/meter-types/:id",
  permission: "meterType.manage",
  params: idParams,
  body: meterTypeEditSchema,
  reply: meterTypeSchema,
  versioned: true,
  problems: ["not-found", "stale", "already-exists", "refused-by-rule"],
});

export const meterTypeOperations = [listMeterTypes, getMeterType, createMeterType, changeMeterType];
