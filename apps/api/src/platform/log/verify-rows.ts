import { createHash } from "node:crypto";
import type { Finding } from "./finding.ts";
import type { Reader } from "./store.ts";

export interface VerifiedRows {
  readonly findings: readonly Finding[];
  /** Live rows that were held against their hashes; parts of one record count as one. */
  readonly rows: number;
}

/** A table and how its rows are hashed, as the database's catalog tells. */
interface BoundTable {
  readonly name: string;
  /** Columns that move without an entry and are no part of the row's text. */
  readonly unledgered: readonly string[];
  /** Of a table of parts, the column that names the record. */
  readonly recordColumn: string | null;
  /** Columns of the primary key, in order, with their types. */
  readonly key: readonly { readonly column: string; readonly type: string }[];
  readonly hasTriggers: boolean;
}

/** Rows of one table that are named one by one; the rest of it is counted. */
const mostNamed = 50;

/**
 * Hashes every live row of every bound table anew and holds it against the last line on record of that row: rows that
 * were changed, slipped in or taken away are named. Whether the lines are those that were logged is for verifyLog.
 *
 * The hashes are made by what PostgreSQL brings and by no function of this database, which could have been bent with
 * the rows; so the statement that the triggers write them with is told here a second time.
 *
 * @param reader one transaction that sees one state of the database throughout
 */
export async function verifyRows(reader: Reader): Promise<VerifiedRows> {
  // What decides how a value reads as text.
  await reader.query("SET LOCAL search_path = pg_catalog, public");
  await reader.query("SET LOCAL timezone = 'UTC'");
  await reader.query("SET LOCAL bytea_output = 'hex'");
  await reader.query("SET LOCAL intervalstyle = 'iso_8601'");
  await reader.query("SET LOCAL extra_float_digits = 1");
  await reader.query("SET LOCAL work_mem = '128MB'");
  const tables = await findBoundTables(reader);
  const findings: Finding[] = tables
    .filter(({ hasTriggers }) => !hasTriggers)
    .map(({ name }) => ({
      name: "table-unbound",
      sentence: `Table ${name} does not hash what is written into it: its triggers were taken away or disabled.`,
    }));
  const compared = await compareAll(reader, tables);
  let rows = 0;
  for (const { table, live, differing } of compared) {
    rows += live;
    if (differing > 0) findings.push(...(await nameDiffering(reader, table, tables, differing)));
  }
  findings.push(...(await findLinesWithoutEntry(reader)));
  findings.push(...(await checkCommitments(reader)));
  findings.push(...(await checkFiles(reader)));
  return { findings, rows };
}

/** Tables that are bound, and those that the log has rows of though they are not. */
async function findBoundTables(reader: Reader): Promise<BoundTable[]> {
  const rows = await reader.query<BoundTable & { key: BoundTable["key"] | null }>(
    `SELECT b.table_name AS name, b.unledgered, b.record_column AS "recordColumn", keys.key,
       (SELECT count(*) FROM pg_trigger t JOIN pg_proc p ON p.oid = t.tgfoid
        WHERE t.tgrelid = c.oid AND t.tgenabled = 'A' AND t.tgname IN ('bound_insert', 'bound_update')
          AND p.proname = 'bind_' || b.table_name) = 2 AS "hasTriggers"
     FROM public.bound_table b
     JOIN pg_class c ON c.relname = b.table_name AND c.relnamespace = 'public'::regnamespace
     CROSS JOIN LATERAL (
       SELECT json_agg(json_build_object('column', a.attname, 'type', format_type(a.atttypid, a.atttypmod))
         ORDER BY array_position(i.indkey::int2[], a.attnum)) AS key
       FROM pg_index i JOIN pg_attribute a ON a.attrelid = i.indrelid AND a.attnum = ANY (i.indkey)
       WHERE i.indrelid = c.oid AND i.indisprimary
     ) keys
     ORDER BY b.table_name`,
  );
  return rows.map((row) => ({ ...row, key: row.key ?? [] }));
}

const leafOf = (text: string) => `sha256('\\x00'::bytea || convert_to(${text}, 'UTF8'))`;

/** What a personal value is bound by: its commitment, which outlives the value. */
const personalValues = `SELECT 'personal_value'::text AS table_name, uuid_send(p.id) AS key, ${leafOf(
  "jsonb_build_object('id', p.id, 'kind', p.kind, 'commitment', p.commitment)::text",
)} AS hash FROM public.personal_value p`;

/** Live rows of a table: name, key and hash. */
function liveRows({ name, unledgered, recordColumn, key }: BoundTable): string {
  const table = `public.${identifier(name)} a`;
  if (recordColumn !== null) {
    const record = `a.${identifier(recordColumn)}`;
    return `SELECT ${literal(name)} AS table_name, uuid_send(${record}) AS key,
        ${leafOf(`string_agg(t.text, E'\\n' ORDER BY t.text COLLATE "C")`)} AS hash
      FROM ${table} CROSS JOIN LATERAL (SELECT jsonb_strip_nulls(to_jsonb(a))::text AS text) t GROUP BY ${record}`;
  }
  const columns = key.map(({ column }) => `a.${identifier(column)}`);
  const keyBytes =
    key.length === 1 && key[0]?.type === "uuid"
      ? `uuid_send(${columns[0]})`
      : `substr(sha256(convert_to(jsonb_build_array(${columns.join(", ")})::text, 'UTF8')), 1, 16)`;
  const left = unledgered.length === 0 ? "" : ` - ARRAY[${unledgered.map(literal).join(", ")}]::text[]`;
  return `SELECT ${literal(name)} AS table_name, ${keyBytes} AS key,
      ${leafOf(`jsonb_strip_nulls(to_jsonb(a)${left})::text`)} AS hash FROM ${table}`;
}

/** The last line of each row that the log knows: table, key, hash, entry. Values are unpacked once a line. */
const lastLines = (where: string) => `
  SELECT DISTINCT ON (table_name, key) table_name, key, hash, entry_id FROM (
    SELECT l.table_name, substr(l.keys, at * 16 + 1, 16) AS key, substr(l.hashes, at * 32 + 1, 32) AS hash, l.place, l.entry_id
    FROM (
      SELECT table_name, place, entry_id, row_count, keys || ''::bytea AS keys, hashes || ''::bytea AS hashes
      FROM public.ledger_rows ${where} OFFSET 0
    ) l CROSS JOIN LATERAL generate_series(0, l.row_count - 1) at
  ) unpacked ORDER BY table_name, key, place DESC`;

async function compareAll(
  reader: Reader,
  tables: readonly BoundTable[],
): Promise<{ table: string; live: number; differing: number }[]> {
  const rows = await reader.query<{ table: string; live: string; differing: string }>(
    `SELECT table_name AS "table", count(live.hash) AS live,
       count(*) FILTER (WHERE live.hash IS DISTINCT FROM logged.hash) AS differing
     FROM (${[...tables.map(liveRows), personalValues].join(" UNION ALL ")}) live
     FULL JOIN (${lastLines("")}) logged USING (table_name, key)
     GROUP BY table_name ORDER BY table_name`,
  );
  return rows.map(({ table, live, differing }) => ({
    table,
    live: Number(live),
    differing: Number(differing),
  }));
}

async function nameDiffering(
  reader: Reader,
  table: string,
  tables: readonly BoundTable[],
  differing: number,
): Promise<Finding[]> {
  const bound = tables.find(({ name }) => name === table);
  if (bound === undefined && table !== "personal_value") {
    return [
      {
        name: "table-unbound",
        sentence: `The log has ${differing} rows of table ${table}, which is not there or not bound any more.`,
      },
    ];
  }
  const rows = await reader.query<{
    key: Buffer;
    entryId: string | null;
    isLive: boolean;
  }>(
    `SELECT key, logged.entry_id AS "entryId", live.hash IS NOT NULL AS "isLive"
     FROM (${bound === undefined ? personalValues : liveRows(bound)}) live
     FULL JOIN (${lastLines("WHERE table_name = $1")}) logged USING (table_name, key)
     WHERE live.hash IS DISTINCT FROM logged.hash ORDER BY key LIMIT $2`,
    [table, mostNamed],
  );
  const findings = rows.map(({ key, entryId, isLive }): Finding => {
    const row = `Row ${rowName(key, bound)} of ${table}`;
    if (entryId === null) {
      return { name: "row-without-entry", sentence: `${row} is in no ledger entry: it was slipped in.` };
    }
    return isLive
      ? { name: "row-changed", sentence: `${row} is not what entry ${entryId} wrote: it was changed.` }
      : { name: "row-removed", sentence: `${row}, which entry ${entryId} wrote, is gone.` };
  });
  if (differing > findings.length) {
    findings.push({
      name: "row-changed",
      sentence: `${differing - findings.length} rows more of ${table} are not what the ledger's entries wrote.`,
    });
  }
  return findings;
}

/** The id of a row, or what stands for a key of several columns. */
function rowName(key: Buffer, bound: BoundTable | undefined): string {
  const hex = key.toString("hex");
  const isUuid =
    bound === undefined ||
    bound.recordColumn !== null ||
    (bound.key.length === 1 && bound.key[0]?.type === "uuid");
  return isUuid ? hex.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5") : `with key ${hex}`;
}

async function findLinesWithoutEntry(reader: Reader): Promise<Finding[]> {
  const rows = await reader.query<{ entryId: string; tables: string }>(
    `SELECT entry_id AS "entryId", string_agg(DISTINCT table_name, ', ') AS tables
     FROM public.ledger_rows l WHERE NOT EXISTS (SELECT FROM public.ledger_entry e WHERE e.id = l.entry_id)
     GROUP BY entry_id ORDER BY entry_id LIMIT $1`,
    [mostNamed],
  );
  return rows.map(({ entryId, tables }) => ({
    name: "rows-without-entry",
    sentence: `Rows of ${tables} were written under entry ${entryId}, which is gone.`,
  }));
}

/** A name or an address that is still kept must be the one that its commitment was made of; see commitment.ts. */
async function checkCommitments(reader: Reader): Promise<Finding[]> {
  const rows = await reader.query<{ id: string; kind: string }>(
    `SELECT id, kind FROM public.personal_value
     WHERE value IS NOT NULL AND commitment <> encode(sha256(
       convert_to(E'sealbook/personal/1\\n', 'UTF8') || substr(int4send(octet_length(salt)), 4) || salt || convert_to(value, 'UTF8')
     ), 'hex') ORDER BY id LIMIT $1`,
    [mostNamed],
  );
  return rows.map(({ id, kind }) => ({
    name: "personal-value-changed",
    sentence: `The ${kind === "address" ? "address" : "name"} kept as ${id} is not the one that its commitment was made of.`,
  }));
}

/** The bytes of every file, chunk by chunk, against the SHA-256 that its row holds. */
async function checkFiles(reader: Reader): Promise<Finding[]> {
  const findings: Finding[] = [];
  let file: { id: string; name: string; sha256: string } | null = null;
  let hash = createHash("sha256");
  const finish = (): void => {
    if (file !== null && hash.digest("hex") !== file.sha256) {
      findings.push({
        name: "file-changed",
        sentence: `The bytes kept of file ${file.id} (${file.name}) are not those that were recorded.`,
      });
    }
  };
  let after: [string, number] = ["00000000-0000-0000-0000-000000000000", -1];
  for (;;) {
    const chunks: { id: string; name: string; sha256: string; number: number; bytes: Buffer | null }[] =
      await reader.query(
        `SELECT f.id, f.name, f.sha256, coalesce(c.number, 0) AS number, c.bytes
         FROM public.file f LEFT JOIN public.file_chunk c ON c.file_id = f.id
         WHERE (f.id, coalesce(c.number, 0)) > ($1::uuid, $2::int) ORDER BY f.id, coalesce(c.number, 0) LIMIT 16`,
        after,
      );
    for (const chunk of chunks) {
      if (chunk.id !== file?.id) {
        finish();
        file = chunk;
        hash = createHash("sha256");
      }
      if (chunk.bytes !== null) hash.update(chunk.bytes);
      after = [chunk.id, chunk.number];
    }
    if (chunks.length < 16) break;
  }
  finish();
  return findings;
}

function identifier(name: string): string {
  return `"${name.replaceAll('"', '""')}"`;
}

function literal(text: string): string {
  return `'${text.replaceAll("'", "''")}'`;
}
