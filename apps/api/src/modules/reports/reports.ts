import { createHash } from "node:crypto";
import { may } from "@sealbook/contract/permissions";
import {
  type Report,
  type ReportBody,
  type ReportRow,
  type ReportState,
  reportBodySchema,
} from "@sealbook/contract/reports";
import { canonicalJson } from "@sealbook/evidence/canonical-json";
import { z } from "zod";
import { fromCursor, toPage } from "../../platform/cursor.ts";
import type { Database } from "../../platform/database.ts";
import { isUniqueViolation } from "../../platform/database-errors.ts";
import { databaseTime } from "../../platform/database-time.ts";
import { writeEntry } from "../../platform/ledger.ts";
import type { HeadToPrint } from "../../platform/log/head-to-print.ts";
import { notFound, ProblemError, refusedByRule } from "../../platform/problem-error.ts";
import { reading } from "../../platform/reading.ts";
import { type Actor, actorOf, newId, type Source, type Tx } from "../../platform/transaction.ts";
import { readTemplate, renderPdf } from "../../platform/typst.ts";
import { getFileView, keepBytes, readFileStream } from "../files/files.ts";
import { findSignatures, signWithPassword } from "../people/people.ts";
import { profileById, profilesInForce } from "../profiles/profiles.ts";
import { buildBody, readBody } from "./build-body.ts";
import { settledMoment } from "./read-tests.ts";
import { reportDocument } from "./report-document.ts";
import {
  type FixedFigures,
  findPersonName,
  findPlace,
  findReport,
  findReports,
  insertFigures,
  insertRelease,
  insertReport,
  insertWithdrawal,
  type NewReport,
  type StoredReport,
} from "./store.ts";
import { testsFile } from "./tests-file.ts";
import { asSeenBy, seenReport, viewReport } from "./view-report.ts";

const template = readTemplate(new URL("./report.typ", import.meta.url));
const longestPeriodDays = 400;

/** Reports, newest first; whoever prepares none sees what was released. */
export async function listReports(
  database: Database,
  query: { cursor?: string | undefined; limit: number; state?: ReportState | undefined },
  actor: Actor | null,
): Promise<{ rows: ReportRow[]; next: string | null }> {
  const preparesReports = may(actor?.role ?? null, "report.prepare");
  if (!preparesReports && query.state !== undefined && query.state !== "released")
    return { rows: [], next: null };
  const key = query.cursor === undefined ? null : fromCursor(query.cursor, 2).map(String);
  const rows = await findReports(reading(database), {
    state: preparesReports ? (query.state ?? null) : "released",
    after: key === null ? null : { createdAt: key[0] ?? "", id: key[1] ?? "" },
    limit: query.limit + 1,
  });
  return toPage(
    rows.map((row) => asSeenBy(row, preparesReports)),
    query.limit,
    (row) => [row.createdAt, row.id],
  );
}

/** A report, whole, as this person sees it. */
export async function getReport(database: Database, id: string, actor: Actor | null): Promise<Report> {
  return await viewReport(database, reading(database), await seenReport(reading(database), id, actor), actor);
}

type Draft =
  | {
      kind: "first";
      id: string;
      title: string;
      periodFrom: string;
      periodTo: string;
      profileId: string;
      layoutProfileId: string | null;
      placeId: string | null;
    }
  | { kind: "edition"; id: string; correctsId: string; reason: string };

/** Begins a report of a period, or the next edition of a released one. */
export async function draftReport(database: Pick<Database, "pool">, tx: Tx, draft: Draft): Promise<Report> {
  const report = draft.kind === "first" ? await firstEdition(tx, draft) : await nextEdition(tx, draft);
  const entryId = await writeEntry(tx, {
    action: "report.draft",
    subjectType: "report",
    subjectId: report.id,
    reason: report.correctionReason,
    payload: {
      title: report.title,
      profileId: report.profileId,
      layoutProfileId: report.layoutProfileId,
      placeId: report.placeId,
      periodFrom: report.periodFrom,
      periodTo: report.periodTo,
      edition: report.edition,
      correctsId: report.correctsId,
    },
  });
  try {
    await insertReport(tx, report, entryId);
  } catch (error) {
    if (!isUniqueViolation(error)) throw error;
    throw new ProblemError("already-exists", "The next edition of this report was drafted already.");
  }
  return await viewReport(database, tx, await stored(tx, report.id), tx.actor);
}

async function firstEdition(tx: Tx, draft: Draft & { kind: "first" }): Promise<NewReport> {
  const days = (Date.parse(draft.periodTo) - Date.parse(draft.periodFrom)) / 86_400_000;
  if (days < 0) throw refusedByRule("/periodTo", "The period ends before it begins.");
  if (days > longestPeriodDays)
    throw refusedByRule("/periodTo", `A report covers ${longestPeriodDays} days at most.`);
  const profile = await profileById(tx, draft.profileId);
  if (profile === null) throw refusedByRule("/profileId", "This rule profile is not on record.");
  if (draft.placeId !== null && (await findPlace(tx, draft.placeId)) === null)
    throw refusedByRule("/placeId", "This place is not on record.");
  const layoutProfileId = draft.layoutProfileId ?? (await layoutFor(tx, draft.profileId));
  if ((await profileById(tx, layoutProfileId)) === null)
    throw refusedByRule("/layoutProfileId", "This rule profile is not on record.");
  return {
    id: draft.id,
    title: draft.title,
    profileId: draft.profileId,
    layoutProfileId,
    placeId: draft.placeId,
    periodFrom: draft.periodFrom,
    periodTo: draft.periodTo,
    edition: 1,
    correctsId: null,
    correctionReason: null,
  };
}

/** The profile's own bands, else those of the first profile in force that has any. */
async function layoutFor(tx: Tx, profileId: string): Promise<string> {
  const inForce = await profilesInForce(tx);
  const own = await profileById(tx, profileId);
  const ownBands = own === null ? null : (JSON.parse(own.body) as { reportBands?: unknown }).reportBands;
  if (ownBands != null) return profileId;
  return inForce.find(({ document }) => document.reportBands !== null)?.id ?? profileId;
}

async function nextEdition(tx: Tx, draft: Draft & { kind: "edition" }): Promise<NewReport> {
  const before = await findReport(tx, draft.correctsId);
  if (before === null) throw refusedByRule("/correctsId", "This report is not on record.");
  if (before.state !== "released") {
    throw new ProblemError("wrong-state", "Only a released report is corrected by another edition.");
  }
  if (before.correctedById !== null)
    throw new ProblemError("already-exists", "The next edition of this report was drafted already.");
  return {
    id: draft.id,
    title: before.title,
    profileId: before.profileId,
    layoutProfileId: before.layoutProfileId,
    placeId: before.placeId,
    periodFrom: before.periodFrom,
    periodTo: before.periodTo,
    edition: before.edition + 1,
    correctsId: before.id,
    correctionReason: draft.reason,
  };
}

/**
 * Reviews a draft: its figures are made once more, fixed and kept with every record behind them, and the reviewer signs
 * them. Whoever drafted it does not review it; the database refuses that, too.
 */
export async function reviewReport(
  database: Pick<Database, "pool">,
  tx: Tx,
  id: string,
  password: string,
): Promise<Report> {
  const report = await inState(tx, id, "draft", "reviewed");
  refuseAuthor(report, actorOf(tx), "reviews its figures");
  // Counting goes over a connection of its own while this one waits.
  await tx.query("SET LOCAL idle_in_transaction_session_timeout = '10min'");
  const cutoff = await settledMoment(tx);
  const { body, manifest } = await buildBody(database.pool, tx, report, cutoff, testsFile());
  if (manifest === null) throw new Error("figures that are fixed have a manifest");
  const text = canonicalJson(body);
  const sha256 = createHash("sha256").update(text, "utf8").digest("hex");
  const testsFileId = newId();
  const testsSha256 = await keepBytes(tx, {
    id: testsFileId,
    name: `tests of report ${id}.ndjson.gz`,
    mediaType: "application/gzip",
    bytes: manifest.bytes,
  });
  const entryId = await writeEntry(tx, {
    action: "report.fix",
    subjectType: "report",
    subjectId: id,
    payload: {
      cutoff: cutoff.toISOString(),
      sha256,
      testsFileId,
      testsSha256,
      manifest: { tests: manifest.count, root: manifest.root },
      edition: report.edition,
    },
  });
  try {
    await insertFigures(
      tx,
      id,
      { cutoff, body: text, sha256, testCount: manifest.count, testRoot: manifest.root, testsFileId },
      entryId,
    );
  } catch (error) {
    if (!isUniqueViolation(error)) throw error;
    throw new ProblemError("wrong-state", "The figures of this report were fixed at this moment.");
  }
  await sign(tx, id, "reviewed", entryId, password);
  return await viewReport(database, tx, await stored(tx, id), tx.actor);
}

/** The author signs the figures as they were fixed. */
export async function signReport(
  database: Pick<Database, "pool">,
  tx: Tx,
  id: string,
  password: string,
): Promise<Report> {
  const report = await inState(tx, id, "reviewed", "signed");
  if (report.author?.id !== actorOf(tx).id) {
    throw new ProblemError(
      "not-permitted",
      `${report.author?.name ?? "Its author"} drafted this report, and signs it.`,
    );
  }
  await sign(tx, id, "prepared", fixedIn(report).entryId, password);
  return await viewReport(database, tx, await stored(tx, id), tx.actor);
}

/**
 * Releases a signed report: its document is made and kept, and the period's manifest enters the ledger. From here on it
 * never changes; a correction is another edition.
 *
 * @param head of the log, for the document's foot
 */
export async function releaseReport(
  database: Pick<Database, "pool">,
  tx: Tx,
  id: string,
  password: string,
  head: HeadToPrint | null,
): Promise<Report> {
  const report = await inState(tx, id, "signed", "released");
  refuseAuthor(report, actorOf(tx), "releases it");
  const figures = fixedIn(report);
  const body = readBody(figures.body);
  const signatures = (await findSignatures(tx, [id])).get(id) ?? [];
  const releasedAt = await databaseTime(tx);
  const releaser = await findPersonName(tx, actorOf(tx).id);
  const pdf = renderPdf(
    template,
    reportDocument(body, {
      sha256: figures.sha256,
      author: report.author?.name ?? "The service",
      signatures: [
        ...signatures.map(({ person, meaning, signedAt, recordHash }) => ({
          name: person.name,
          meaning,
          at: signedAt,
          recordHash,
        })),
        { name: releaser, meaning: "released", at: releasedAt.toISOString(), recordHash: null },
      ],
      releasedAt: releasedAt.toISOString(),
      head: head?.line ?? null,
    }),
  );
  const pdfFileId = newId();
  const pdfSha256 = await keepBytes(tx, {
    id: pdfFileId,
    name: `report ${report.periodFrom} to ${report.periodTo}, edition ${report.edition}.pdf`,
    mediaType: "application/pdf",
    bytes: pdf,
  });
  const entryId = await writeEntry(tx, {
    action: "report.release",
    subjectType: "report",
    subjectId: id,
    payload: {
      sha256: figures.sha256,
      pdfFileId,
      pdfSha256,
      edition: report.edition,
      correctsId: report.correctsId,
      manifest: {
        tests: body.manifest.tests,
        root: body.manifest.root,
        profileKey: report.profileKey,
        placeId: report.placeId,
        periodFrom: report.periodFrom,
        periodTo: report.periodTo,
        cutoff: body.cutoff,
      },
    },
  });
  await endOnce(() => insertRelease(tx, id, pdfFileId, entryId));
  await sign(tx, id, "released", entryId, password);
  return await viewReport(database, tx, await stored(tx, id), tx.actor);
}

/** Gives a report up before its release. */
export async function withdrawReport(
  database: Pick<Database, "pool">,
  tx: Tx,
  id: string,
  reason: string,
): Promise<Report> {
  const report = await stored(tx, id);
  if (report.state === "released" || report.state === "withdrawn") {
    throw new ProblemError(
      "wrong-state",
      report.state === "released"
        ? "A released report stands for ever; correct it by another edition."
        : "This report is withdrawn already.",
    );
  }
  const entryId = await writeEntry(tx, {
    action: "report.withdraw",
    subjectType: "report",
    subjectId: id,
    reason,
    payload: { edition: report.edition },
  });
  await endOnce(() => insertWithdrawal(tx, id, reason, entryId));
  return await viewReport(database, tx, await stored(tx, id), tx.actor);
}

async function stored(source: Source, id: string): Promise<StoredReport> {
  const report = await findReport(source, id);
  if (report === null) throw notFound("report");
  return report;
}

async function inState(tx: Tx, id: string, state: ReportState, next: string): Promise<StoredReport> {
  const report = await stored(tx, id);
  if (report.state === state) return report;
  throw new ProblemError(
    "wrong-state",
    `This report is ${report.state === "draft" ? "a draft" : report.state}; it cannot become ${next} now. Reload to see it as it stands.`,
  );
}

function refuseAuthor(report: StoredReport, { id }: Actor, does: string): void {
  if (report.author?.id !== id) return;
  throw new ProblemError("not-independent", `You drafted this report: somebody else ${does}.`);
}

function fixedIn(report: StoredReport): FixedFigures {
  if (report.figures === null) throw new Error(`report ${report.id} was reviewed without figures`);
  return report.figures;
}

async function endOnce(insert: () => Promise<void>): Promise<void> {
  try {
    await insert();
  } catch (error) {
    if (!isUniqueViolation(error)) throw error;
    throw new ProblemError("wrong-state", "This report was released or withdrawn at this moment.");
  }
}

async function sign(
  tx: Tx,
  reportId: string,
  meaning: "reviewed" | "prepared" | "released",
  recordEntryId: string,
  password: string,
): Promise<void> {
  await signWithPassword(
    tx,
    { subjectType: "report", subjectId: reportId, meaning, recordEntryId, action: "report.sign" },
    password,
  );
}

/** What is handed out of a report, as this person may see it: the bytes that were hashed, or a draft's of this moment. */
export async function reportFile(
  database: Database,
  id: string,
  actor: Actor | null,
): Promise<{ report: StoredReport; body: ReportBody; json: string }> {
  const source = reading(database);
  const report = await seenReport(source, id, actor);
  if (report.figures !== null) {
    return { report, body: readBody(report.figures.body), json: report.figures.body };
  }
  const { body } = await buildBody(database.pool, source, report, await settledMoment(source), null);
  return { report, body, json: canonicalJson(body) };
}

/** The document of a released report, byte for byte as it was released. */
export async function reportPdf(database: Database, id: string, actor: Actor | null) {
  const report = await seenReport(reading(database), id, actor);
  if (report.release === null) {
    throw new ProblemError("wrong-state", "This report has no document yet: it is made at its release.");
  }
  const file = await getFileView(reading(database), report.release.pdfFileId);
  return { name: file.name, size: file.size, bytes: readFileStream(database, file) };
}

/** A released report that this person may see. */
export async function releasedReport(
  source: Source,
  id: string,
  actor: Actor | null,
): Promise<StoredReport & { figures: FixedFigures; release: NonNullable<StoredReport["release"]> }> {
  const report = await seenReport(source, id, actor);
  const { figures, release } = report;
  if (figures === null || release === null) {
    throw new ProblemError("wrong-state", "Evidence is handed out of a released report.");
  }
  return { ...report, figures, release };
}

/** JSON Schema of a report's figures, draft 2020-12. */
export const reportJsonSchema = z.toJSONSchema(reportBodySchema);
