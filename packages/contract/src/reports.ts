import { lotLineSchema, rejectedLotSchema } from "@sealbook/metrology/reports/lot-line-schema";
import { type measures, setAsideStates } from "@sealbook/metrology/reports/reported-test";
import {
  type SummaryDimension,
  type SummaryPass,
  summaryDimensions,
  summarySchema,
} from "@sealbook/metrology/reports/summary-schema";
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
} from "./common.ts";
import { untestableReasonNames } from "./meter-tests.ts";
import { verdicts } from "./meters.ts";
import { operation } from "./operation.ts";
import { type TestReason, testReasonNames } from "./work-items.ts";

/**
 * draft: its figures are those of the moment. reviewed: a second person looked at them and fixed them. signed: its author
 * signed the fixed figures. released: it stands for ever. withdrawn: given up before its release.
 */
export const reportStates = ["draft", "reviewed", "signed", "released", "withdrawn"] as const;
export type ReportState = (typeof reportStates)[number];
export const reportStateNames: Record<ReportState, string> = {
  draft: "Draft",
  reviewed: "Reviewed, awaits its author's signature",
  signed: "Signed, awaits release",
  released: "Released",
  withdrawn: "Withdrawn",
};

export const reportSignatureMeanings = ["reviewed", "prepared", "released"] as const;
export const reportSignatureNames: Record<(typeof reportSignatureMeanings)[number], string> = {
  reviewed: "Reviewed these figures",
  prepared: "Prepared this report and stands for it",
  released: "Released this report",
};

const profileRefSchema = z.strictObject({
  id: idSchema,
  key: z.string(),
  version: z.string(),
  title: z.string(),
  sha256: z.string().describe("of the profile's document as stored"),
});

const count = z.int().min(0);

export const standardStates = ["valid", "due-soon", "overdue", "never-calibrated", "withdrawn"] as const;

/** What a report says of one standard. */
export const standardLineSchema = z.strictObject({
  id: idSchema,
  designation: z.string(),
  rank: z.enum(["reference", "working"]),
  maker: z.string(),
  model: z.string(),
  serial: z.string(),
  status: z.enum(standardStates).describe("on the last day of the period"),
  calibratedOn: dateSchema.nullable().describe("the calibration that held on the last day of the period"),
  dueOn: dateSchema.nullable(),
  certificateNumber: z.string().nullable(),
  tests: count.describe("tests of the report that leaned on it"),
  exceptions: z.array(z.string()).describe("what is not as it should be, in sentences"),
});
export type StandardLine = z.infer<typeof standardLineSchema>;

/** A corrective action that was open in the period, or done in it. */
export const reportedActionSchema = z.strictObject({
  id: idSchema,
  lotNumber: z.string(),
  kind: z.string(),
  detail: z.string(),
  dueOn: dateSchema,
  doneOn: dateSchema.nullable().describe("null where it was open when the figures were fixed"),
  overdue: z.boolean().describe("not done by its due date, within the period"),
});

/** Rows of bench files that were set aside in the period, by reason. */
export const setAsideRowsSchema = z.strictObject({
  code: z.string(),
  detail: z.string().describe("one of the rows' reasons in words"),
  rows: count,
  imports: count.describe("files that they came in"),
});

/**
 * A report, whole, as it is fixed, hashed and handed out: this is the published form. A change of it that a reader must
 * know of counts `format` up.
 */
export const reportBodySchema = z
  .strictObject({
    format: z.literal(1),
    id: idSchema,
    title: z.string(),
    shop: z.string(),
    timeZone: z.string().describe("IANA name; the dates of the report are local to it"),
    period: z.strictObject({ from: dateSchema, to: dateSchema.describe("inclusive") }),
    place: z.strictObject({ id: idSchema, name: z.string() }).nullable().describe("null: every place"),
    profile: profileRefSchema.describe("rules of the jurisdiction; the tests were judged by its versions"),
    layout: profileRefSchema.describe("whose accuracy bands are used"),
    edition: z.int().min(1),
    corrects: z
      .strictObject({ id: idSchema, edition: z.int(), sha256: z.string(), reason: z.string() })
      .nullable(),
    cutoff: instantSchema.describe("tests recorded up to this moment are in, by the database's clock"),
    lateSince: instantSchema
      .nullable()
      .describe("cutoff of the edition before: tests recorded after it are its late entries"),
    engineVersion: z.string().describe("version of the arithmetic that counted"),
    manifest: z.strictObject({
      tests: count.describe("records of tests performed in the period, those set aside included"),
      root: z
        .string()
        .nullable()
        .describe(
          "RFC 6962 root, hexadecimal, over the canonical texts of the records in order of their ids; null of a draft",
        ),
    }),
    types: z
      .array(
        z.strictObject({
          id: idSchema,
          maker: z.string(),
          model: z.string(),
          form: z.string(),
          phases: z.int(),
          technology: z.string(),
        }),
      )
      .describe("types of the meters tested, as named when the figures were fixed"),
    summary: summarySchema,
    lots: z.array(lotLineSchema).describe("lots decided in the period, by number"),
    rejectedLots: z.array(rejectedLotSchema),
    actions: z.array(reportedActionSchema),
    standards: z.array(standardLineSchema),
    setAsideRows: z.array(setAsideRowsSchema),
    changes: z
      .array(
        z.strictObject({
          at: z.string().describe("JSON pointer into this document, rows named by their key"),
          before: z.string().nullable(),
          after: z.string().nullable(),
        }),
      )
      .nullable()
      .describe("what differs from the edition before; null for a first edition"),
    caution: z.string(),
  })
  .meta({ title: "Report of a meter shop", description: "Form 1 of a report as the service hands it out." });
export type ReportBody = z.infer<typeof reportBodySchema>;

export const reportRowSchema = z.object({
  id: idSchema,
  title: z.string(),
  periodFrom: dateSchema,
  periodTo: dateSchema,
  place: z.string().nullable(),
  profileKey: z.string(),
  profileTitle: z.string(),
  edition: z.int(),
  state: z.enum(reportStates),
  author: personRefSchema.nullable(),
  createdAt: instantSchema,
  releasedAt: instantSchema.nullable(),
  correctsId: idSchema.nullable(),
  correctedById: idSchema
    .nullable()
    .describe("the edition that stands in for this one, once that is drafted"),
});
export type ReportRow = z.infer<typeof reportRowSchema>;

export const reportSchema = reportRowSchema.extend({
  profileId: idSchema,
  layoutProfileId: idSchema,
  placeId: idSchema.nullable(),
  correctionReason: z.string().nullable(),
  body: reportBodySchema.describe("of a draft the figures of this moment, else those that were fixed"),
  sha256: z.string().nullable().describe("of the fixed figures as handed out; null of a draft"),
  signatures: z.array(signatureSchema),
  released: z.object({ at: instantSchema, entryId: idSchema, pdfSha256: z.string() }).nullable(),
  withdrawn: z.object({ at: instantSchema, by: personRefSchema.nullable(), reason: z.string() }).nullable(),
  recordedSince: z
    .int()
    .nullable()
    .describe(
      "records of tests of the period that came after the figures were fixed; null of a draft, and to a regulator",
    ),
  hindrances: z
    .array(z.object({ step: z.enum(["review", "sign", "release"]), sentence: z.string() }))
    .describe("why the signed-in person may not take a step that is next"),
  entryId: idSchema,
});
export type Report = z.infer<typeof reportSchema>;

export const listReports = operation({
  id: "reports.list",
  summary: "Reports, newest first; whoever does not prepare reports sees the released ones",
  method: "GET",
  path: "/reports",
  permission: "report.read",
  query: z.object({ ...pageQuery, state: z.enum(reportStates).optional() }),
  reply: pageOf(reportRowSchema),
});

export const getReport = operation({
  id: "reports.get",
  summary: "One report with its figures, signatures and editions",
  method: "GET",
  path: "/reports/:id",
  permission: "report.read",
  params: idParams,
  reply: reportSchema,
  problems: ["not-found"],
});

export const draftReport = operation({
  id: "reports.draft",
  summary: "Begin a report of a period, or the next edition of a released one",
  method: "POST",
  path: "/reports",
  permission: "report.prepare",
  body: z.discriminatedUnion("kind", [
    z.strictObject({
      kind: z.literal("first"),
      id: idSchema,
      title: lineSchema(120),
      periodFrom: dateSchema,
      periodTo: dateSchema.describe("inclusive; at most 400 days after the first"),
      profileId: idSchema,
      layoutProfileId: idSchema
        .nullable()
        .describe(
          "whose accuracy bands to count in; null takes the profile's own, else the first that has any",
        ),
      placeId: idSchema.nullable().describe("only tests performed here; null for every place"),
    }),
    z.strictObject({
      kind: z.literal("edition"),
      id: idSchema,
      correctsId: idSchema,
      reason: reasonSchema,
    }),
  ]),
  reply: reportSchema,
  status: 201,
  idempotent: true,
  problems: ["not-found", "refused-by-rule", "wrong-state", "already-exists"],
});

const withPassword = z.strictObject({ password: z.string().min(1).max(200) });

export const reviewReport = operation({
  id: "reports.review",
  summary: "Sign as reviewed: the figures are fixed as they stand now",
  method: "POST",
  path: "/reports/:id/review",
  permission: "report.prepare",
  params: idParams,
  body: withPassword,
  reply: reportSchema,
  idempotent: true,
  problems: ["not-found", "wrong-state", "not-independent", "sign-in-refused", "too-many-requests"],
});

export const signReport = operation({
  id: "reports.sign",
  summary: "Sign the fixed figures as their author",
  method: "POST",
  path: "/reports/:id/signature",
  permission: "report.prepare",
  params: idParams,
  body: withPassword,
  reply: reportSchema,
  idempotent: true,
  problems: [
    "not-found",
    "wrong-state",
    "not-permitted",
    "already-signed",
    "sign-in-refused",
    "too-many-requests",
  ],
});

export const releaseReport = operation({
  id: "reports.release",
  summary:
    "Release a signed report: it and its document stand for ever, and the period's manifest enters the ledger",
  method: "POST",
  path: "/reports/:id/release",
  permission: "report.release",
  params: idParams,
  body: withPassword,
  reply: reportSchema,
  idempotent: true,
  problems: [
    "not-found",
    "wrong-state",
    "not-independent",
    "already-signed",
    "sign-in-refused",
    "too-many-requests",
  ],
});

export const withdrawReport = operation({
  id: "reports.withdraw",
  summary: "Give a report up before its release",
  method: "POST",
  path: "/reports/:id/withdrawal",
  permission: "report.prepare",
  params: idParams,
  body: z.strictObject({ reason: reasonSchema }),
  reply: reportSchema,
  idempotent: true,
  problems: ["not-found", "wrong-state"],
});

/** A test behind a number of a report. */
export const reportedTestSchema = z.object({
  id: idSchema,
  meterId: idSchema,
  utilityNumber: z.string(),
  type: z.string(),
  performedOn: dateSchema,
  reasons: z.array(z.string()),
  state: z.enum(["counted", ...setAsideStates]),
  verdict: z.enum(verdicts).describe("as found; no-test-possible where there was none"),
  untestableReason: z.string().nullable(),
  creeps: z.boolean().nullable(),
  fullLoad: z.string().nullable(),
  lightLoad: z.string().nullable(),
  powerFactor: z.string().nullable(),
  average: z.string().nullable(),
  previousOn: dateSchema.nullable(),
});
export type ReportedTestRow = z.infer<typeof reportedTestSchema>;

export const listReportedTests = operation({
  id: "reports.listTests",
  summary: "The tests behind one number of a report",
  method: "GET",
  path: "/reports/:id/tests",
  permission: "report.read",
  params: idParams,
  query: z.object({
    ...pageQuery,
    dimension: z.enum(summaryDimensions).default("all"),
    key: z.string().max(100).default("").describe("of the row; empty for the whole"),
    figure: z
      .string()
      .max(60)
      .default("tests")
      .describe(
        "tests, outsideLimits, asFound/average/creeping, asFound/fullLoad/outsideLimits, setAside/amended, untestable/dead",
      ),
  }),
  reply: pageOf(reportedTestSchema),
  problems: ["not-found", "refused-by-rule"],
});

const file = (id: string, path: string, summary: string) =>
  operation({
    id: `reports.${id}`,
    summary,
    method: "GET",
    path: `/reports/:id/${path}`,
    permission: "report.read",
    params: idParams,
    reply: "file",
    problems: ["not-found", "wrong-state"],
  });

export const getReportPdf = file("pdf", "report.pdf", "The released report as PDF, as it was released");
export const getReportCsv = file("csv", "report.csv", "The figures as CSV, one a line");
export const getReportSheet = file("sheet", "report.xlsx", "The figures as a spreadsheet");
export const getReportJson = file("json", "report.json", "The figures as JSON, the bytes that were hashed");

export const getReportBundle = operation({
  id: "reports.bundle",
  summary: "Evidence bundle of a released report; docs/bundle.md says what is in it",
  method: "GET",
  path: "/reports/:id/bundle",
  permission: "report.read",
  params: idParams,
  query: z.object({
    names: z
      .enum(["left-out", "opened"])
      .default("left-out")
      .describe("whether the names of testers, deciders and signers are opened by their salts"),
    heldSize: z.coerce
      .number()
      .int()
      .min(1)
      .optional()
      .describe("entries under a head that you hold: the bundle then proves that its log begins with yours"),
  }),
  reply: "file",
  problems: ["not-found", "wrong-state", "unavailable", "not-permitted"],
});

export const getReportJsonSchema = operation({
  id: "reports.jsonSchema",
  summary: "JSON Schema of a report's figures",
  method: "GET",
  path: "/report.schema.json",
  permission: "report.read",
  reply: "file",
});

export const getVerifyPage = operation({
  id: "reports.verifyPage",
  summary:
    "The page that verifies an evidence bundle without a network: one file, to be opened from where it is kept",
  method: "GET",
  path: "/verify-page",
  permission: "report.read",
  reply: "file",
  problems: ["not-found"],
});

export const getVerifyPageHash = operation({
  id: "reports.verifyPageHash",
  summary: "SHA-256 of the verification page, to be compared with the one that was published",
  method: "GET",
  path: "/verify-page/hash",
  permission: "report.read",
  reply: z.object({ sha256: z.string() }),
  problems: ["not-found"],
});

export const reportOperations = [
  listReports,
  getReport,
  draftReport,
  reviewReport,
  signReport,
  releaseReport,
  withdrawReport,
  listReportedTests,
  getReportPdf,
  getReportCsv,
  getReportSheet,
  getReportJson,
  getReportBundle,
  getReportJsonSchema,
  getVerifyPage,
  getVerifyPageHash,
];

export const summaryDimensionNames: Record<SummaryDimension, string> = {
  all: "All tests",
  type: "By type of meter",
  reason: "By reason",
  phase: "By phase",
  "test-period": "By test period",
  "type-and-test-period": "By type and test period",
  standard: "By standard",
};

export const measureNames: Record<(typeof measures)[number], string> = {
  fullLoad: "Full load",
  lightLoad: "Light load",
  powerFactor: "Power factor",
  average: "Average",
};

export const summaryPassNames: Record<SummaryPass, string> = { asFound: "as found", asLeft: "as left" };

/** What a row of a summary is called: the words for its key. */
export function summaryRowName(
  dimension: SummaryDimension,
  key: string,
  { types, standards }: Pick<ReportBody, "types" | "standards">,
): string {
  const typeName = (id: string) => {
    const type = types.find((one) => one.id === id);
    return type === undefined ? id : `${type.maker} ${type.model}, form ${type.form}`;
  };
  switch (dimension) {
    case "all":
      return "All tests";
    case "type":
      return typeName(key);
    case "reason":
      return testReasonNames[key as TestReason] ?? key;
    case "phase":
      return key === "single-phase" ? "Single-phase" : "Polyphase";
    case "test-period":
      return testPeriodName(key);
    case "type-and-test-period": {
      const at = key.lastIndexOf(" ");
      return `${typeName(key.slice(0, at))}: ${testPeriodName(key.slice(at + 1)).toLowerCase()}`;
    }
    case "standard":
      return standards.find(({ id }) => id === key)?.designation ?? key;
  }
}

function testPeriodName(key: string): string {
  if (key === "first") return "No test before on record";
  if (key === "0") return "Under 1 year";
  return key === "1" ? "1 year" : `${key} years`;
}

/** Why no test was possible, in words. */
export function untestableName(reason: string): string {
  return Object.entries(untestableReasonNames).find(([code]) => code === reason)?.[1] ?? reason;
}
