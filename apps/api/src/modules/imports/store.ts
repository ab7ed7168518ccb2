import type {
  Import,
  ImportKind,
  ImportMapping,
  ImportMappingBody,
  ImportProblem,
  ImportState,
} from "@sealbook/contract/imports";
import { importMappingBodySchema } from "@sealbook/contract/imports";
import { z } from "zod";
import { personRef } from "../../platform/person-ref.ts";
import type { Source, Tx } from "../../platform/transaction.ts";
import type { CellProblem } from "./cells.ts";

interface ImportRow {
  id: string;
  kind: ImportKind;
  lot_id: string | null;
  lot_number: string | null;
  state: ImportState;
  mapping_id: string | null;
  mapping_body: string | null;
  mapping_name: string | null;
  mapping_version: number | null;
  headings: string;
  sample: string;
  rows_total: number | null;
  rows_done: number;
  rows_good: number;
  rows_already: number;
  rows_bad: number;
  cancel_asked: boolean;
  failure: string | null;
  created_at: Date;
  actor_id: string | null;
  actor_name: string | null;
  finished_at: Date | null;
  version: number;
  file_id: string;
  file_name: string;
  file_media_type: string;
  file_size: number;
  file_sha256: string;
  file_recorded_at: Date;
}

const importQuery = `
  SELECT i.id, i.kind, i.lot_id, l.number AS lot_number, i.state, i.mapping_id, i.mapping_body, m.name AS mapping_name, m.version AS mapping_version,
    i.headings, i.sample, i.rows_total, i.rows_done, i.rows_good, i.rows_already, i.rows_bad, i.cancel_asked, i.failure,
    i.created_at, i.actor_id, p.value AS actor_name, i.finished_at, i.version,
    f.id AS file_id, f.name AS file_name, f.media_type AS file_media_type, f.size AS file_size, f.sha256 AS file_sha256,
    f.recorded_at AS file_recorded_at
  FROM import i
  JOIN file f ON f.id = i.file_id
  LEFT JOIN lot l ON l.id = i.lot_id
  LEFT JOIN import_mapping m ON m.id = i.mapping_id
  LEFT JOIN account a ON a.id = i.actor_id
  LEFT JOIN personal_value p ON p.id = a.name_id`;

export async function findImport(source: Source, id: string): Promise<Import | null> {
  const [row] = await source.query<ImportRow>(`${importQuery} WHERE i.id = $1`, [id]);
  return row === undefined ? null : toImport(row);
}

/** The import, locked until the transaction ends. */
export async function lockImport(tx: Tx, id: string): Promise<Import | null> {
  const [row] = await tx.query<ImportRow>(`${importQuery} WHERE i.id = $1 FOR UPDATE OF i`, [id]);
  return row === undefined ? null : toImport(row);
}

export async function findImportOfContent(
  source: Source,
  kind: ImportKind,
  sha256: string,
  lotId: string | null,
): Promise<Import | null> {
  const [row] = await source.query<ImportRow>(
    `${importQuery} WHERE i.kind = $1 AND i.sha256 = $2 AND i.lot_id IS NOT DISTINCT FROM $3`,
    [kind, sha256, lotId],
  );
  return row === undefined ? null : toImport(row);
}

/** Imports, newest first; the key of the page is when it was added and its id. */
export async function findImports(
  source: Source,
  after: { createdAt: string; id: string } | null,
  limit: number,
): Promise<Import[]> {
  const rows = await source.query<ImportRow>(
    `${importQuery}
     WHERE $1::timestamptz IS NULL OR i.created_at < $1 OR (i.created_at = $1 AND i.id > $2::uuid)
     ORDER BY i.created_at DESC, i.id LIMIT $3`,
    [after?.createdAt ?? null, after?.id ?? null, limit],
  );
  return rows.map(toImport);
}

/** Adds an import; a unique constraint refuses a second one of the same kind and content, and shipment. */
export async function insertImport(
  tx: Tx,
  added: {
    id: string;
    kind: ImportKind;
    lotId: string | null;
    fileId: string;
    sha256: string;
    headings: readonly string[];
    sample: readonly (readonly string[])[];
  },
  entryId: string,
): Promise<void> {
  await tx.query(
    "INSERT INTO import (id, kind, lot_id, file_id, sha256, headings, sample, entry_id) VALUES ($1, $2, $3, $4, $5, $6, $7, $8)",
    [
      added.id,
      added.kind,
      added.lotId,
      added.fileId,
      added.sha256,
      JSON.stringify(added.headings),
      JSON.stringify(added.sample),
      entryId,
    ],
  );
}

export async function startCheck(tx: Tx, id: string, mapping: ImportMapping): Promise<void> {
  await tx.query(
    `UPDATE import SET state = 'checking', mapping_id = $2, mapping_body = $3, rows_total = NULL, rows_done = 0, rows_good = 0,
       rows_already = 0, rows_bad = 0, cancel_asked = false, failure = NULL, finished_at = NULL, version = version + 1
     WHERE id = $1`,
    [id, mapping.id, JSON.stringify(mapping.body)],
  );
}

/** Begins the dry run, anew if need be: what an attempt before this one found goes. */
export async function beginCheck(tx: Tx, id: string, rowsTotal: number): Promise<void> {
  await tx.query("DELETE FROM import_problem WHERE import_id = $1", [id]);
  await tx.query(
    `UPDATE import SET rows_total = $2, rows_done = 0, rows_good = 0, rows_already = 0, rows_bad = 0, version = version + 1
     WHERE id = $1`,
    [id, rowsTotal],
  );
}

export async function startRun(tx: Tx, id: string, entryId: string): Promise<void> {
  await tx.query(
    `UPDATE import SET state = 'running', rows_done = 0, rows_good = 0, rows_already = 0, rows_bad = 0, cancel_asked = false,
       failure = NULL, finished_at = NULL, version = version + 1, entry_id = $2
     WHERE id = $1`,
    [id, entryId],
  );
}

export async function askCancel(tx: Tx, id: string, entryId: string): Promise<void> {
  await tx.query(
    "UPDATE import SET cancel_asked = true, version = version + 1, entry_id = $2 WHERE id = $1",
    [id, entryId],
  );
}

export interface Counts {
  readonly done: number;
  readonly good: number;
  readonly already: number;
  readonly bad: number;
}

/** Moves the counts on by those of one step. */
export async function moveProgress(tx: Tx, id: string, step: Counts): Promise<void> {
  await tx.query(
    `UPDATE import SET rows_done = rows_done + $2, rows_good = rows_good + $3, rows_already = rows_already + $4,
       rows_bad = rows_bad + $5, version = version + 1
     WHERE id = $1`,
    [id, step.done, step.good, step.already, step.bad],
  );
}

/** Ends the step under way. The dry run writes no entry: it changes nothing but what it found. */
export async function endStep(
  tx: Tx,
  id: string,
  end: { state: ImportState; failure: string | null; entryId: string | null },
): Promise<void> {
  await tx.query(
    `UPDATE import SET state = $2, failure = $3, cancel_asked = false, finished_at = now_to_the_millisecond(),
       version = version + 1${end.entryId === null ? "" : ", entry_id = $4"}
     WHERE id = $1`,
    [id, end.state, end.failure, ...(end.entryId === null ? [] : [end.entryId])],
  );
}

function toImport(row: ImportRow): Import {
  const body = row.mapping_body === null ? null : toMappingBody(row.mapping_body);
  return {
    id: row.id,
    kind: row.kind,
    lot: row.lot_id === null ? null : { id: row.lot_id, number: row.lot_number ?? "" },
    file: {
      id: row.file_id,
      name: row.file_name,
      mediaType: row.file_media_type,
      size: row.file_size,
      sha256: row.file_sha256,
      recordedAt: row.file_recorded_at.toISOString(),
    },
    state: row.state,
    mapping:
      row.mapping_id === null || body === null
        ? null
        : { id: row.mapping_id, name: row.mapping_name ?? "", body, version: row.mapping_version ?? 1 },
    headings: z.array(z.string()).parse(JSON.parse(row.headings)),
    sample: z.array(z.array(z.string())).parse(JSON.parse(row.sample)),
    rowsTotal: row.rows_total,
    rowsDone: row.rows_done,
    rowsGood: row.rows_good,
    rowsAlready: row.rows_already,
    rowsBad: row.rows_bad,
    cancelAsked: row.cancel_asked,
    failure: row.failure,
    createdAt: row.created_at.toISOString(),
    createdBy: personRef(row.actor_id, row.actor_name),
    finishedAt: row.finished_at?.toISOString() ?? null,
    version: row.version,
  };
}

// ---------------------------------------------------------------------------------------------------------------
// Rows set aside

export type RowProblem = CellProblem & { readonly rowNumber: number };

/** Records why rows are set aside; several problems of one row follow each other. */
export async function insertProblems(
  tx: Tx,
  importId: string,
  problems: readonly RowProblem[],
): Promise<void> {
  const ordinals = new Map<number, number>();
  const ordinalOf = ({ rowNumber }: RowProblem) => {
    const ordinal = ordinals.get(rowNumber) ?? 0;
    ordinals.set(rowNumber, ordinal + 1);
    return ordinal;
  };
  await tx.query(
    `INSERT INTO import_problem (import_id, row_number, ordinal, column_name, value, code, detail)
     SELECT $1, * FROM unnest($2::int[], $3::int[], $4::text[], $5::text[], $6::text[], $7::text[])`,
    [
      importId,
      problems.map(({ rowNumber }) => rowNumber),
      problems.map(ordinalOf),
      problems.map(({ column }) => column),
      problems.map(({ value }) => value.slice(0, 200).toWellFormed()),
      problems.map(({ code }) => code),
      problems.map(({ detail }) => detail),
    ],
  );
}

/** Problems in the order of the file; the key of the page is row and ordinal. */
export async function findProblems(
  source: Source,
  importId: string,
  after: { rowNumber: number; ordinal: number } | null,
  limit: number,
): Promise<(ImportProblem & { ordinal: number })[]> {
  const rows = await source.query<{
    row_number: number;
    ordinal: number;
    column_name: string;
    value: string;
    code: string;
    detail: string;
  }>(
    `SELECT row_number, ordinal, column_name, value, code, detail FROM import_problem
     WHERE import_id = $1 AND (row_number, ordinal) > ($2, $3) ORDER BY row_number, ordinal LIMIT $4`,
    [importId, after?.rowNumber ?? 0, after?.ordinal ?? -1, limit],
  );
  return rows.map((row) => ({
    rowNumber: row.row_number,
    ordinal: row.ordinal,
    column: row.column_name,
    value: row.value,
    code: row.code,
    detail: row.detail,
  }));
}

/** Which of these rows are set aside. */
export async function findRowsSetAside(
  source: Source,
  importId: string,
  rowNumbers: readonly number[],
): Promise<Set<number>> {
  const rows = await source.query<{ row_number: number }>(
    "SELECT DISTINCT row_number FROM import_problem WHERE import_id = $1 AND row_number = ANY($2::int[])",
    [importId, rowNumbers],
  );
  return new Set(rows.map(({ row_number }) => row_number));
}

// ---------------------------------------------------------------------------------------------------------------
// Mappings

interface MappingRow {
  id: string;
  name: string;
  body: string;
  version: number;
}

const mappingQuery = "SELECT id, name, body, version FROM import_mapping";

export async function findMapping(source: Source, id: string): Promise<ImportMapping | null> {
  const [row] = await source.query<MappingRow>(`${mappingQuery} WHERE id = $1`, [id]);
  return row === undefined ? null : toMapping(row);
}

/** The mapping, locked until the transaction ends. */
export async function lockMapping(tx: Tx, id: string): Promise<ImportMapping | null> {
  const [row] = await tx.query<MappingRow>(`${mappingQuery} WHERE id = $1 FOR UPDATE`, [id]);
  return row === undefined ? null : toMapping(row);
}

/** Mappings of one kind, or of any (null), by name, which is unique and the key of the page. */
export async function findMappings(
  source: Source,
  kind: ImportKind | null,
  after: string | null,
  limit: number,
): Promise<ImportMapping[]> {
  const rows = await source.query<MappingRow>(
    `${mappingQuery} WHERE ($1::text IS NULL OR name > $1) AND ($3::text IS NULL OR body::json ->> 'kind' = $3)
     ORDER BY name LIMIT $2`,
    [after, limit, kind],
  );
  return rows.map(toMapping);
}

export async function insertMapping(
  tx: Tx,
  mapping: Pick<ImportMapping, "id" | "name" | "body">,
  entryId: string,
): Promise<void> {
  await tx.query("INSERT INTO import_mapping (id, name, body, entry_id) VALUES ($1, $2, $3, $4)", [
    mapping.id,
    mapping.name,
    JSON.stringify(mapping.body),
    entryId,
  ]);
}

export async function updateMapping(
  tx: Tx,
  mapping: Pick<ImportMapping, "id" | "name" | "body">,
  entryId: string,
): Promise<void> {
  await tx.query(
    "UPDATE import_mapping SET name = $2, body = $3, entry_id = $4, version = version + 1 WHERE id = $1",
    [mapping.id, mapping.name, JSON.stringify(mapping.body), entryId],
  );
}

function toMapping(row: MappingRow): ImportMapping {
  return { id: row.id, name: row.name, body: toMappingBody(row.body), version: row.version };
}

function toMappingBody(text: string): ImportMappingBody {
  return importMappingBodySchema.parse(JSON.parse(text));
}

// ---------------------------------------------------------------------------------------------------------------
// What the rows of a file name

export interface NamedMeter {
  readonly id: string;
  readonly number: string;
  readonly serial: string;
  readonly retired: boolean;
  /** Plan of the meter's type. */
  readonly planCode: string;
}

export async function findNamedMeters(
  source: Source,
  numbers: readonly string[],
  serials: readonly string[],
): Promise<NamedMeter[]> {
  const columns = `m.id, m.utility_number AS number, m.serial, m.state IN ('retired', 'disposed') AS retired, t.test_plan_code AS "planCode"
    FROM meter m JOIN meter_type t ON t.id = m.type_id`;
  return await source.query<NamedMeter & Record<string, unknown>>(
    `SELECT ${columns} WHERE m.utility_number = ANY($1::text[])
     UNION
     SELECT ${columns} WHERE m.serial = ANY($2::text[])`,
    [numbers, serials],
  );
}

/** People by sign-in name or printed name, whether or not they are still here: the test was made when they were. */
export async function findNamedPeople(
  source: Source,
  names: readonly string[],
): Promise<{ id: string; username: string; name: string | null }[]> {
  return await source.query<{ id: string; username: string; name: string | null }>(
    `SELECT a.id, a.username, p.value AS name FROM account a JOIN personal_value p ON p.id = a.name_id
     WHERE a.username = ANY($1::text[]) OR lower(p.value) = ANY($1::text[])`,
    [names.map((name) => name.toLowerCase())],
  );
}

export async function findNamedStandards(
  source: Source,
  designations: readonly string[],
): Promise<{ id: string; designation: string }[]> {
  return await source.query<{ id: string; designation: string }>(
    "SELECT id, designation FROM standard WHERE designation = ANY($1::text[])",
    [designations],
  );
}

/** Current revision of the plans with these codes. */
export async function findNamedPlans(
  source: Source,
  codes: readonly string[],
): Promise<{ id: string; code: string }[]> {
  return await source.query<{ id: string; code: string }>(
    "SELECT DISTINCT ON (code) id, code FROM test_plan WHERE code = ANY($1::text[]) ORDER BY code, revision DESC",
    [codes],
  );
}

export interface TestOnRecord {
  readonly method: "entered" | "imported";
  /** What was entered, as plain JSON. */
  readonly outcome: unknown;
}

/** Tests that the book has of these pairs of meter and instant, whatever became of them since, by testKey. */
export async function findTestsOnRecord(
  source: Source,
  pairs: readonly { meterId: string; performedAt: Date }[],
): Promise<Map<string, TestOnRecord[]>> {
  const rows = await source.query<{
    meter_id: string;
    performed_at: Date;
    method: TestOnRecord["method"];
    outcome: unknown;
  }>(
    `SELECT t.meter_id, t.performed_at, t.method, t.entry_body::json -> 'outcome' AS outcome
     FROM (SELECT DISTINCT * FROM unnest($1::uuid[], $2::timestamptz[])) AS wanted (meter_id, performed_at)
     JOIN meter_test t ON t.meter_id = wanted.meter_id AND t.performed_at = wanted.performed_at`,
    [pairs.map(({ meterId }) => meterId), pairs.map(({ performedAt }) => performedAt)],
  );
  const found = new Map<string, TestOnRecord[]>();
  for (const { meter_id, performed_at, method, outcome } of rows) {
    const key = testKey(meter_id, performed_at);
    found.set(key, [...(found.get(key) ?? []), { method, outcome }]);
  }
  return found;
}

/** What tells one test from another in a bench's file: a meter is tested once at an instant. */
export function testKey(meterId: string, performedAt: Date): string {
  return `${meterId} ${performedAt.toISOString()}`;
}
