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
  positiveDecimalSchema,
  reasonSchema,
  signatureSchema,
  textSchema,
} from "./common.ts";
import { fileSchema } from "./files.ts";
import { operation } from "./operation.ts";

export const standardRanks = ["reference", "working"] as const;

/** How a certificate states its figures; asked, never guessed. */
export const signConventions = ["registration", "error", "correction"] as const;
export const signConventionNames: Record<(typeof signConventions)[number], string> = {
  registration: "Percent registration (100 is true)",
  error: "Error (indicated minus true, 0 is true)",
  correction: "Correction (true minus indicated, 0 is true)",
};

/** A point as the certificate prints it, in the certificate's own sign convention. */
export const certificatePointSchema = z.strictObject({
  amperes: positiveDecimalSchema,
  volts: positiveDecimalSchema,
  powerFactor: positiveDecimalSchema.refine((text) => Number(text) <= 1, "must be at most 1"),
  powerFactorSense: z.enum(["unity", "lagging", "leading"]),
  quantity: z.enum(["Wh", "VARh", "VAh"]),
  printedPercent: decimalSchema.describe("Figure as printed, in the certificate's sign convention, percent"),
  expandedUncertaintyPercent: positiveDecimalSchema,
  coverageFactor: positiveDecimalSchema.describe("Usually 2"),
});

/** The same point converted: what the arithmetic uses. */
export const certifiedPointSchema = z.object({
  amperes: z.string(),
  volts: z.string(),
  powerFactor: z.string(),
  powerFactorSense: z.enum(["unity", "lagging", "leading"]),
  quantity: z.enum(["Wh", "VARh", "VAh"]),
  registrationPercent: z.string().describe("Percent registration of the standard; 100 is true"),
  expandedUncertaintyPercent: z.string(),
  coverageFactor: z.string(),
});

export const calibrationSchema = z.object({
  id: idSchema,
  standardId: idSchema,
  calibratedOn: dateSchema,
  dueOn: dateSchema,
  certificateNumber: z.string(),
  laboratory: z.string(),
  performedBy: z
    .string()
    .describe("Who calibrated, as the certificate names them; 'erased' once the person was forgotten"),
  traceability: z.string().describe("What the laboratory's own standards trace to, as the certificate says"),
  againstStandard: z
    .object({ id: idSchema, designation: z.string() })
    .nullable()
    .describe("Our own standard above it, when calibrated in house"),
  signConvention: z.enum(signConventions),
  printedPoints: z.array(certificatePointSchema),
  points: z.array(certifiedPointSchema),
  certificate: fileSchema.nullable(),
  recordedAt: instantSchema,
  recordedBy: personRefSchema.nullable(),
  supersedesId: idSchema.nullable(),
  supersededById: idSchema.nullable(),
  amendmentReason: z.string().nullable(),
  entryId: idSchema,
});
export type Calibration = z.infer<typeof calibrationSchema>;

/** What a signature under the record of a calibration says. */
export const calibrationSignatureMeanings = ["recorded", "reviewed"] as const;
export const calibrationSignatureMeaningNames: Record<(typeof calibrationSignatureMeanings)[number], string> =
  {
    recorded: "Recorded this calibration as its certificate states it",
    reviewed: "Compared this record with its certificate",
  };

/** A calibration with the signatures under its record, oldest first. */
export const signedCalibrationSchema = calibrationSchema.extend({
  signatures: z.array(signatureSchema.extend({ meaning: z.enum(calibrationSignatureMeanings) })),
});
export type SignedCalibration = z.infer<typeof signedCalibrationSchema>;

export const standardStatuses = ["valid", "due-soon", "overdue", "never-calibrated", "withdrawn"] as const;
export const standardStatusNames: Record<(typeof standardStatuses)[number], string> = {
  valid: "Valid",
  "due-soon": "Due within 30 days",
  overdue: "Overdue",
  "never-calibrated": "Never calibrated",
  withdrawn: "Withdrawn",
};

export const standardSchema = z.object({
  id: idSchema,
  designation: z.string(),
  maker: z.string(),
  model: z.string(),
  serial: z.string(),
  rank: z.enum(standardRanks),
  place: z.string(),
  withdrawn: z.boolean(),
  status: z.enum(standardStatuses),
  dueOn: dateSchema.nullable(),
  calibratedOn: dateSchema.nullable(),
  certificateNumber: z.string().nullable(),
  version: z.int(),
});
export type Standard = z.infer<typeof standardSchema>;

export const listStandards = operation({
  id: "standards.list",
  summary: "Standards with their status today, most urgent first",
  method: "GET",
  path: "/standards",
  permission: "standard.read",
  query: z.object({ ...pageQuery }),
  reply: pageOf(standardSchema),
});

export const getStandard = operation({
  id: "standards.get",
  summary: "One standard with its calibrations, newest first",
  method: "GET",
  path: "/standards/:id",
  permission: "standard.read",
  params: idParams,
  reply: standardSchema.extend({ calibrations: z.array(signedCalibrationSchema).max(200) }),
  problems: ["not-found"],
});

const standardFields = {
  designation: lineSchema(40),
  maker: lineSchema(80),
  model: lineSchema(80),
  serial: lineSchema(80),
  rank: z.enum(standardRanks),
  place: lineSchema(80),
};

export const createStandard = operation({
  id: "standards.create",
  summary: "Add a standard",
  method: "POST",
  path: "/standards",
  permission: "standard.manage",
  body: z.strictObject({ id: idSchema, ...standardFields }),
  reply: standardSchema,
  status: 201,
  idempotent: true,
  problems: ["already-exists"],
});

export const changeStandard = operation({
  id: "standards.change",
  summary: "Change a standard's particulars or withdraw it, with a reason",
  method: "PUT",
  path: "/standards/:id",
  permission: "standard.manage",
  params: idParams,
  body: z.strictObject({ ...standardFields, withdrawn: z.boolean(), reason: reasonSchema }),
  reply: standardSchema,
  versioned: true,
  problems: ["not-found", "stale", "already-exists"],
});

export const newCalibrationSchema = z.strictObject({
  id: idSchema,
  calibratedOn: dateSchema,
  dueOn: dateSchema,
  certificateNumber: lineSchema(80),
  laboratory: lineSchema(120),
  performedBy: lineSchema(120),
  traceability: textSchema(400),
  againstStandardId: idSchema.nullable(),
  signConvention: z.enum(signConventions),
  points: z.array(certificatePointSchema).min(1).max(200),
  fileId: idSchema.nullable().describe("Certificate, sent before as a file"),
  supersedesId: idSchema.nullable().describe("The calibration record that this one corrects"),
  amendmentReason: reasonSchema.nullable(),
});
export type NewCalibration = z.infer<typeof newCalibrationSchema>;

export const recordCalibration = operation({
  id: "standards.recordCalibration",
  summary: "Record a calibration of a standard from its certificate",
  method: "POST",
  path: "/standards/:id/calibrations",
  permission: "standard.manage",
  params: idParams,
  body: newCalibrationSchema,
  reply: calibrationSchema,
  status: 201,
  idempotent: true,
  problems: ["not-found", "refused-by-rule", "already-amended"],
});

export const signCalibration = operation({
  id: "standards.signCalibration",
  summary:
    "Sign the record of a calibration with one's password: as recorded by whoever recorded it, as reviewed by others",
  method: "POST",
  path: "/standards/:id/calibrations/:calibrationId/signatures",
  permission: "standard.manage",
  params: z.object({ id: idSchema, calibrationId: idSchema }),
  body: z.strictObject({ password: z.string().max(200) }),
  reply: signedCalibrationSchema,
  status: 201,
  idempotent: true,
  problems: ["not-found", "sign-in-refused", "already-signed", "wrong-state", "too-many-requests"],
});

export const standardOperations = [
  listStandards,
  getStandard,
  createStandard,
  changeStandard,
  recordCalibration,
  signCalibration,
];
