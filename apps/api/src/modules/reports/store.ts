import type { ReportRow, ReportState } from "@sealbook/contract/reports";
import { personRef } from "../../platform/person-ref.ts";
import { placeWords } from "../../platform/place-words.ts";
import type { Source, Tx } from "../../platform/transaction.ts";

interface ReportListRow {
  id: string;
  title: string;
  period_from: string;
  period_to: string;
  place: string | null;
  profile_key: string;
  profile_title: string;
  edition: number;
  state: ReportState;
  author_id: string | null;
  author_name: string | null;
  created_at: Date;
  released_at: Date | null;
  corrects_id: string | null;
  corrected_by_id: string | null;
  correction_released: boolean;
}

/** A report in a list, and whether the edition that corrects it is released. */
export interface ListedReport extends ReportRow {
  readonly correctionReleased: boolean;
}

/** A report as it is stored, with the figures once they are fixed. */
export interface StoredReport extends ListedReport {
  readonly profileId: string;
  readonly layoutProfileId: string;
  readonly placeId: string | null;
  readonly correctionReason: string | null;
  readonly entryId: string;
  readonly figures: FixedFigures | null;
  readonly release: {
    readonly at: string;
    readonly entryId: string;
    readonly pdfFileId: string;
    readonly pdfSha256: string;
  } | null;
  readonly withdrawal: {
    readonly at: string;
    readonly byId: string | null;
    readonly byName: string | null;
    readonly reason: string;
  } | null;
}

export interface FixedFigures {
  readonly cutoff: Date;
  /** Canonical JSON, the bytes that were hashed. */
  readonly body: string;
  readonly sha256: string;
  readonly testsFileId: string;
  readonly entryId: string;
}

const reportSelect = `
  SELECT r.id, r.title, r.period_from, r.period_to, ${placeWords("l")} AS place, p.key AS profile_key, p.title AS profile_title,
    r.edition, r.state, r.actor_id AS author_id, v.value AS author_name, r.created_at, r.released_at, r.corrects_id,
    c.id AS corrected_by_id, EXISTS (SELECT FROM report_release x WHERE x.report_id = c.id) AS correction_released
  FROM (
    SELECT r.*, e.released_at, CASE
      WHEN w.report_id IS NOT NULL THEN 'withdrawn' WHEN e.report_id IS NOT NULL THEN 'released'
      WHEN EXISTS (SELECT FROM signature g WHERE g.subject_type = 'report' AND g.subject_id = r.id AND g.meaning = 'prepared') THEN 'signed'
      WHEN f.report_id IS NOT NULL THEN 'reviewed' ELSE 'draft' END AS state
    FROM report r LEFT JOIN report_figures f ON f.report_id = r.id LEFT JOIN report_release e ON e.report_id = r.id
    LEFT JOIN report_withdrawal w ON w.report_id = r.id
  ) r
  JOIN rule_profile p ON p.id = r.profile_id LEFT JOIN place l ON l.id = r.place_id
  LEFT JOIN report c ON c.corrects_id = r.id AND NOT EXISTS (SELECT FROM report_withdrawal x WHERE x.report_id = c.id)
  LEFT JOIN account a ON a.id = r.actor_id LEFT JOIN personal_value v ON v.id = a.name_id`;

function toReportRow(row: ReportListRow): ListedReport {
  return {
    id: row.id,
    title: row.title,
    periodFrom: row.period_from,
    periodTo: row.period_to,
    place: row.place,
    profileKey: row.profile_key,
    profileTitle: row.profile_title,
    edition: row.edition,
    state: row.state,
    author: personRef(row.author_id, row.author_name),
    createdAt: row.created_at.toISOString(),
    releasedAt: row.released_at?.toISOString() ?? null,
    correctsId: row.corrects_id,
    correctedById: row.corrected_by_id,
    correctionReleased: row.correction_released,
  };
}

/** Reports, newest first, ties by id. */
export async function findReports(
  source: Source,
  filter: { state: ReportState | null; after: { createdAt: string; id: string } | null; limit: number },
): Promise<ListedReport[]> {
  const rows = await source.query<ReportListRow>(
    `${reportSelect}
     WHERE ($1::text IS NULL OR r.state = $1)
       AND ($2::timestamptz IS NULL OR (r.created_at, r.id) < ($2, $3::uuid))
     ORDER BY r.created_at DESC, r.id DESC LIMIT $4`,
    [filter.state, filter.after?.createdAt ?? null, filter.after?.id ?? null, filter.limit],
  );
  return rows.map(toReportRow);
}

export async function findReport(source: Source, id: string): Promise<StoredReport | null> {
  const [listRow] = await source.query<ReportListRow>(`${reportSelect} WHERE r.id = $1`, [id]);
  if (listRow === undefined) return null;
  const [row] = await source.query<{
    profile_id: string;
    layout_profile_id: string;
    place_id: string | null;
    correction_reason: string | null;
    entry_id: string;
    cutoff: Date | null;
    body: string | null;
    sha256: string | null;
    tests_file_id: string | null;
    figures_entry_id: string | null;
    released_at: Date | null;
    release_entry_id: string | null;
    pdf_file_id: string | null;
    pdf_sha256: string | null;
    withdrawn_at: Date | null;
    withdrawn_by: string | null;
    withdrawn_name: string | null;
    withdrawal_reason: string | null;
  }>(
    `SELECT r.profile_id, r.layout_profile_id, r.place_id, r.correction_reason, r.entry_id, f.cutoff, f.body, f.sha256, f.tests_file_id,
       f.entry_id AS figures_entry_id, e.released_at, e.entry_id AS release_entry_id, e.pdf_file_id, d.sha256 AS pdf_sha256,
       w.withdrawn_at, w.actor_id AS withdrawn_by, v.value AS withdrawn_name, w.reason AS withdrawal_reason
     FROM report r LEFT JOIN report_figures f ON f.report_id = r.id LEFT JOIN report_release e ON e.report_id = r.id
     LEFT JOIN file d ON d.id = e.pdf_file_id LEFT JOIN report_withdrawal w ON w.report_id = r.id
     LEFT JOIN account a ON a.id = w.actor_id LEFT JOIN personal_value v ON v.id = a.name_id WHERE r.id = $1`,
    [id],
  );
  if (row === undefined) return null;
  return {
    ...toReportRow(listRow),
    profileId: row.profile_id,
    layoutProfileId: row.layout_profile_id,
    placeId: row.place_id,
    correctionReason: row.correction_reason,
    entryId: row.entry_id,
    figures:
      row.cutoff === null ||
      row.body === null ||
      row.sha256 === null ||
      row.tests_file_id === null ||
      row.figures_entry_id === null
        ? null
        : {
            cutoff: row.cutoff,
            body: row.body,
            sha256: row.sha256,
            testsFileId: row.tests_file_id,
            entryId: row.figures_entry_id,
          },
    release:
      row.released_at === null ||
      row.release_entry_id === null ||
      row.pdf_file_id === null ||
      row.pdf_sha256 === null
        ? null
        : {
            at: row.released_at.toISOString(),
            entryId: row.release_entry_id,
            pdfFileId: row.pdf_file_id,
            pdfSha256: row.pdf_sha256,
          },
    withdrawal:
      row.withdrawn_at === null
        ? null
        : {
            at: row.withdrawn_at.toISOString(),
            byId: row.withdrawn_by,
            byName: row.withdrawn_name,
            reason: row.withdrawal_reason ?? "",
          },
  };
}

export interface NewReport {
  readonly id: string;
  readonly title: string;
  readonly profileId: string;
  readonly layoutProfileId: string;
  readonly placeId: string | null;
  readonly periodFrom: string;
  readonly periodTo: string;
  readonly edition: number;
  readonly correctsId: string | null;
  readonly correctionReason: string | null;
}

export async function insertReport(tx: Tx, report: NewReport, entryId: string): Promise<void> {
  await tx.query(
    `INSERT INTO report (id, title, profile_id, layout_profile_id, place_id, period_from, period_to, edition, corrects_id,
       correction_reason, entry_id) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)`,
    [
      report.id,
      report.title,
      report.profileId,
      report.layoutProfileId,
      report.placeId,
      report.periodFrom,
      report.periodTo,
      report.edition,
      report.correctsId,
      report.correctionReason,
      entryId,
    ],
  );
}

export async function insertFigures(
  tx: Tx,
  reportId: string,
  figures: {
    cutoff: Date;
    body: string;
    sha256: string;
    testCount: number;
    testRoot: string;
    testsFileId: string;
  },
  entryId: string,
): Promise<void> {
  await tx.query(
    `INSERT INTO report_figures (report_id, cutoff, body, sha256, test_count, test_root, tests_file_id, entry_id)
     VALUES ($1, $2, $3, $4, $5, $6, $7, $8)`,
    [
      reportId,
      figures.cutoff,
      figures.body,
      figures.sha256,
      figures.testCount,
      figures.testRoot,
      figures.testsFileId,
      entryId,
    ],
  );
}

export async function insertRelease(
  tx: Tx,
  reportId: string,
  pdfFileId: string,
  entryId: string,
): Promise<void> {
  await tx.query("INSERT INTO report_release (report_id, pdf_file_id, entry_id) VALUES ($1, $2, $3)", [
    reportId,
    pdfFileId,
    entryId,
  ]);
}

export async function insertWithdrawal(
  tx: Tx,
  reportId: string,
  reason: string,
  entryId: string,
): Promise<void> {
  await tx.query("INSERT INTO report_withdrawal (report_id, reason, entry_id) VALUES ($1, $2, $3)", [
    reportId,
    reason,
    entryId,
  ]);
}

/** How many records of tests of a period came after a moment. */
export async function countRecordedSince(
  source: Source,
  report: { profileKey: string; placeId: string | null; periodFrom: string; periodTo: string },
  since: Date,
): Promise<number> {
  const [row] = await source.query<{ count: number }>(
    `SELECT count(*)::int AS count FROM meter_test t JOIN rule_profile p ON p.id = t.profile_id CROSS JOIN shop s
     WHERE p.key = $1 AND ($2::uuid IS NULL OR t.place_id = $2) AND t.recorded_at > $5
       AND t.performed_at >= $3::date::timestamp AT TIME ZONE s.time_zone
       AND t.performed_at < ($4::date + 1)::timestamp AT TIME ZONE s.time_zone`,
    [report.profileKey, report.placeId, report.periodFrom, report.periodTo, since],
  );
  return row?.count ?? 0;
}

export async function findPlace(source: Source, id: string): Promise<{ id: string; name: string } | null> {
  const [row] = await source.query<{ id: string; name: string }>(
    `SELECT l.id, ${placeWords("l")} AS name FROM place l WHERE l.id = $1`,
    [id],
  );
  return row ?? null;
}

/** Utility numbers of meters, by id. */
export async function findNumbers(source: Source, meterIds: readonly string[]): Promise<Map<string, string>> {
  const rows = await source.query<{ id: string; number: string }>(
    "SELECT id, utility_number AS number FROM meter WHERE id = ANY($1)",
    [meterIds],
  );
  return new Map(rows.map(({ id, number }) => [id, number]));
}

/** Name and time zone of the shop. */
export async function findShopOfReport(source: Source): Promise<{ name: string; timeZone: string }> {
  const [row] = await source.query<{ name: string; timeZone: string }>(
    'SELECT name, time_zone AS "timeZone" FROM shop',
  );
  if (row === undefined) throw new Error("there is no shop yet");
  return row;
}

/** A person's name as it is printed. */
export async function findPersonName(source: Source, accountId: string): Promise<string> {
  const [row] = await source.query<{ name: string | null }>(
    "SELECT v.value AS name FROM account a JOIN personal_value v ON v.id = a.name_id WHERE a.id = $1",
    [accountId],
  );
  return personRef(accountId, row?.name ?? null).name;
}
