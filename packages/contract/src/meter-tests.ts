import { z } from "zod";
import {
  dateSchema,
  decimalSchema,
  idParams,
  idSchema,
  instantSchema,
  lineSchema,
  notNegativeDecimalSchema,
  pageOf,
  pageQuery,
  personRefSchema,
  positiveDecimalSchema,
  reasonSchema,
  signatureSchema,
  textSchema,
} from "./common.ts";
import { fileSchema } from "./files.ts";
import { meterSchema, testRowSchema, verdicts } from "./meters.ts";
import { operation } from "./operation.ts";
import { passEvaluationSchema } from "./pass-evaluation.ts";
import { pinSchema } from "./people.ts";
import { judgingRulesSchema, ruleProfileViewSchema } from "./profiles.ts";
import { calibrationSchema, standardSchema } from "./standards.ts";
import { testPlanSchema } from "./test-plans.ts";
import { testReasons, workItemSchema } from "./work-items.ts";

/** Why no test was possible: a result of its own. */
export const untestableReasons = ["not-registering", "dead", "damaged", "tampered", "not-found"] as const;
export type UntestableReason = (typeof untestableReasons)[number];
export const untestableReasonNames: Record<UntestableReason, string> = {
  "not-registering": "Not registering",
  dead: "Dead (no display, no output)",
  damaged: "Damaged",
  tampered: "Tampered with",
  "not-found": "Not found",
};

/** One run as entered; the words are those of metrology's RunEntry. */
export const runEntrySchema = z.discriminatedUnion("kind", [
  z.strictObject({
    kind: z.literal("counts"),
    counts: notNegativeDecimalSchema.describe("0 where the meter stood still while energy passed"),
    standardEnergy: positiveDecimalSchema.describe("Wh (VARh, VAh) that the standard indicated"),
  }),
  z.strictObject({
    kind: z.literal("revolutions"),
    counts: notNegativeDecimalSchema.describe("0 where the meter stood still while energy passed"),
    standardRevolutions: positiveDecimalSchema,
    standardConstant: positiveDecimalSchema.describe("Ks at the tap and voltage in use, Wh per revolution"),
  }),
  z.strictObject({
    kind: z.literal("registration"),
    registrationPercent: notNegativeDecimalSchema.describe("0 where the meter stood still"),
  }),
]);

/** One reading of demand beside the reference; the words are those of metrology's DemandReading. */
export const demandReadingSchema = z.strictObject({
  indicatedKw: notNegativeDecimalSchema.describe("What the meter under test indicates, kW"),
  referenceKw: positiveDecimalSchema.describe("What the standard or reference meter indicates, kW"),
  fullScaleKw: positiveDecimalSchema
    .nullable()
    .describe("Full scale of the meter under test, kW; null where the error is in percent of reading"),
  loadPercent: positiveDecimalSchema
    .nullable()
    .optional()
    .describe("Load in percent of test amperes; asked for where the error is in percent of reading"),
});

export const passEntrySchema = z.strictObject({
  points: z
    .array(z.strictObject({ pointKey: z.string().max(12), runs: z.array(runEntrySchema).min(1).max(20) }))
    .min(1)
    .max(24),
  creep: z.enum(["none", "creeps", "not-checked"]),
  startingLoad: z
    .enum(["starts", "does-not-start", "not-checked"])
    .optional()
    .describe("Left out where the plan does not ask for it"),
  demand: z
    .array(demandReadingSchema)
    .min(1)
    .max(24)
    .optional()
    .describe("Left out where the plan does not ask for it, or no reading was taken"),
});

const testedSchema = z.strictObject({
  kind: z.literal("tested"),
  asFound: passEntrySchema,
  asLeft: z.discriminatedUnion("kind", [
    z.strictObject({ kind: z.literal("same") }).describe("Nothing was adjusted: as left is as found"),
    z.strictObject({
      kind: z.literal("entered"),
      pass: passEntrySchema,
      adjustment: textSchema(500)
        .refine((text) => text.trim().length > 0, "say what was done")
        .describe("What was cleaned, adjusted or repaired"),
    }),
    z.strictObject({ kind: z.literal("not-tested"), why: reasonSchema }).describe("Left untested, and why"),
  ]),
});

const noTestPossibleSchema = z.strictObject({
  kind: z.literal("no-test-possible"),
  reason: z.enum(untestableReasons),
  note: textSchema(500),
});

const withdrawnSchema = z
  .strictObject({ kind: z.literal("withdrawn") })
  .describe("Only in an amendment: the record should not have been made");

/** What a signature under the record of a test says; a record that withdraws a test is no test. */
export const signatureMeanings = ["tested", "withdrawn"] as const;
export const signatureMeaningNames: Record<(typeof signatureMeanings)[number], string> = {
  tested: "Performed this test and entered its results",
  withdrawn: "Confirms that this test is withdrawn",
};

export const conditionsSchema = z.strictObject({
  volts: positiveDecimalSchema.nullable(),
  amperes: positiveDecimalSchema.nullable(),
  temperatureCelsius: decimalSchema.nullable(),
});

const testFields = {
  meterId: idSchema,
  planId: idSchema,
  reasons: z.array(z.enum(testReasons)).min(1).max(5),
  workItemIds: z.array(idSchema).max(20).describe("Open work that this test answers"),
  performedAt: instantSchema,
  standardId: idSchema.nullable().describe("Null only when no test was possible"),
  errorAppliedByBench: z
    .boolean()
    .nullable()
    .describe("Did the bench already apply the standard's certified error? Asked, never guessed"),
  conditions: conditionsSchema,
  preconditionsConfirmed: z.array(z.string().max(200)).max(12),
  readingBefore: decimalSchema.nullable(),
  readingAfter: decimalSchema.nullable(),
  sealsRemoved: z.array(lineSchema(40)).max(12),
  sealsApplied: z.array(lineSchema(40)).max(12),
  remarks: textSchema(2000),
  fileIds: z.array(idSchema).max(12).describe("Photos and papers, sent before as files"),
  confirmedUnusual: z
    .literal(true)
    .optional()
    .describe(
      "Said once a person has looked again at figures that are seldom true: registration outside 50 to 150 %, readings below zero or beyond the dials, temperature outside -60 to 80 °C",
    ),
};

export const newMeterTestSchema = z.strictObject({
  id: idSchema,
  ...testFields,
  outcome: z.discriminatedUnion("kind", [testedSchema, noTestPossibleSchema]),
  signature: z
    .strictObject({ pin: pinSchema })
    .nullable()
    .describe("Sign at once; null to sign later with the tray"),
});
export type NewMeterTest = z.infer<typeof newMeterTestSchema>;

export const amendmentSchema = z.strictObject({
  id: idSchema,
  ...testFields,
  outcome: z.discriminatedUnion("kind", [testedSchema, noTestPossibleSchema, withdrawnSchema]),
  amendmentReason: reasonSchema,
  signature: z.strictObject({ pin: pinSchema }).nullable(),
});
export type Amendment = z.infer<typeof amendmentSchema>;

export const meterTestSchema = testRowSchema.extend({
  recordedAt: instantSchema,
  recordedBy: personRefSchema.nullable(),
  meter: z.object({
    id: idSchema,
    utilityNumber: z.string(),
    serial: z.string(),
    maker: z.string(),
    model: z.string(),
    form: z.string(),
    kh: z.string(),
    kt: z.string().nullable(),
    accuracyClass: z.string(),
    testAmperes: z.string(),
    designVolts: z.string(),
  }),
  plan: testPlanSchema,
  profile: ruleProfileViewSchema,
  outcome: z.discriminatedUnion("kind", [testedSchema, noTestPossibleSchema, withdrawnSchema]),
  evaluation: z.object({
    asFound: passEvaluationSchema.nullable(),
    asLeft: passEvaluationSchema.nullable(),
    engineVersion: z.string().describe("Version of the arithmetic that judged"),
  }),
  standardInUse: standardSchema
    .pick({ id: true, designation: true, maker: true, model: true, serial: true, rank: true })
    .nullable(),
  calibration: calibrationSchema.nullable(),
  errorAppliedByBench: z.boolean().nullable(),
  conditions: conditionsSchema,
  preconditionsConfirmed: z.array(z.string()),
  place: z.string(),
  readingBefore: z.string().nullable(),
  readingAfter: z.string().nullable(),
  sealsRemoved: z.array(z.string()),
  sealsApplied: z.array(z.string()),
  confirmedUnusual: z.boolean().describe("Whether a person confirmed figures that are seldom true"),
  remarks: z.string(),
  files: z.array(fileSchema),
  workItemIds: z.array(idSchema),
  signatures: z.array(signatureSchema.extend({ meaning: z.enum(signatureMeanings) })),
  amendmentReason: z.string().nullable(),
  source: z.object({ importId: idSchema, fileName: z.string(), rowNumber: z.int() }).nullable(),
  entryId: idSchema,
  entryHash: z.string(),
});
export type MeterTest = z.infer<typeof meterTestSchema>;

/** Everything that the entry screen needs for one meter, in one reply. */
export const testPreparationSchema = z.object({
  meter: meterSchema,
  plan: testPlanSchema,
  profile: ruleProfileViewSchema,
  rules: judgingRulesSchema.describe("The profile's rules for this type of meter"),
  standards: z.array(standardSchema.extend({ calibration: calibrationSchema.nullable() })).max(100),
  lastTest: testRowSchema.nullable(),
  openWork: z.array(workItemSchema).max(50),
});
export type TestPreparation = z.infer<typeof testPreparationSchema>;

export const prepareMeterTest = operation({
  id: "meterTests.prepare",
  summary: "What a test of this meter needs: type, plan, rules, standards, last result, open work",
  method: "GET",
  path: "/meters/:id/test-preparation",
  permission: "meterTest.record",
  params: idParams,
  query: z.object({
    amends: idSchema
      .optional()
      .describe("A test of this meter to amend: rules of where it was performed, calibrations of its date"),
    on: dateSchema
      .optional()
      .describe(
        "Local date of the test: rules of where the meter was, calibrations and status of standards then",
      ),
  }),
  reply: testPreparationSchema,
  problems: ["not-found", "refused-by-rule"],
});

export const listMeterTests = operation({
  id: "meterTests.list",
  summary: "Tests, newest first, filtered",
  method: "GET",
  path: "/meter-tests",
  permission: "meterTest.read",
  query: z.object({
    ...pageQuery,
    meterId: idSchema.optional(),
    reason: z.enum(testReasons).optional(),
    asFound: z.enum(verdicts).optional(),
    performedFrom: dateSchema.optional(),
    performedTo: dateSchema.optional(),
    unsignedByMe: z.enum(["true"]).optional().describe("My own tests that wait for my signature"),
    importId: idSchema.optional(),
    standardId: idSchema.optional().describe("Tests that leaned on this standard"),
  }),
  reply: pageOf(testRowSchema),
});

export const getMeterTest = operation({
  id: "meterTests.get",
  summary: "One test with all figures, limits, formula and standard",
  method: "GET",
  path: "/meter-tests/:id",
  permission: "meterTest.read",
  params: idParams,
  reply: meterTestSchema,
  problems: ["not-found"],
});

export const recordMeterTest = operation({
  id: "meterTests.record",
  summary: "Record a test; the server judges it with the function that judged it while typing",
  method: "POST",
  path: "/meter-tests",
  permission: "meterTest.record",
  body: newMeterTestSchema,
  reply: meterTestSchema,
  status: 201,
  idempotent: true,
  problems: [
    "not-found",
    "refused-by-rule",
    "standard-overdue",
    "pin-refused",
    "too-many-requests",
    "already-exists",
  ],
});

export const amendMeterTest = operation({
  id: "meterTests.amend",
  summary: "Record a test that supersedes this one, with a reason; the first stays readable",
  method: "POST",
  path: "/meter-tests/:id/amendments",
  permission: "meterTest.amend",
  params: idParams,
  body: amendmentSchema,
  reply: meterTestSchema,
  status: 201,
  idempotent: true,
  problems: [
    "not-found",
    "refused-by-rule",
    "standard-overdue",
    "pin-refused",
    "already-amended",
    "not-permitted",
  ],
});

export const signMeterTests = operation({
  id: "meterTests.sign",
  summary: "Sign one's own tests, one or a tray",
  method: "POST",
  path: "/meter-tests/signatures",
  permission: "meterTest.sign",
  body: z.strictObject({ testIds: z.array(idSchema).min(1).max(200), pin: pinSchema }),
  reply: z.object({ signed: z.int() }),
  idempotent: true,
  problems: ["not-found", "pin-refused", "too-many-requests", "already-signed", "refused-by-rule"],
});

export const getTestCertificate = operation({
  id: "meterTests.getCertificate",
  summary: "The test's certificate as PDF with searchable text",
  method: "GET",
  path: "/meter-tests/:id/certificate.pdf",
  permission: "meterTest.read",
  params: idParams,
  reply: "file",
  problems: ["not-found", "wrong-state"],
});

export const meterTestOperations = [
  prepareMeterTest,
  listMeterTests,
  getMeterTest,
  recordMeterTest,
  amendMeterTest,
  signMeterTests,
  getTestCertificate,
];
