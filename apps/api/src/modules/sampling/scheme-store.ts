import type { Scheme } from "@sealbook/contract/sampling-schemes";
import { samplingSchemeSchema } from "@sealbook/metrology/sampling/decision/sampling-scheme";
import { personRef } from "../../platform/person-ref.ts";
import type { Source, Tx } from "../../platform/transaction.ts";
import { nameOf } from "./name-of.ts";

interface SchemeRow {
  id: string;
  code: string;
  revision: number;
  name: string;
  body: string;
  recorded_at: Date;
  actor_id: string | null;
  actor_name: string | null;
  current: boolean;
  entry_id: string;
}

const schemeColumns = `s.id, s.code, s.revision, s.name, s.body, s.recorded_at, s.actor_id, p.value AS actor_name, s.entry_id,
  NOT EXISTS (SELECT FROM sampling_scheme n WHERE n.code = s.code AND n.revision > s.revision) AS current`;

function toScheme(row: SchemeRow): Scheme {
  return {
    id: row.id,
    code: row.code,
    revision: row.revision,
    name: row.name,
    body: samplingSchemeSchema.parse(JSON.parse(row.body)),
    recordedAt: row.recorded_at.toISOString(),
    recordedBy: personRef(row.actor_id, row.actor_name),
    current: row.current,
    entryId: row.entry_id,
  };
}

/** Newest revision of each scheme, by code. */
export async function findCurrentSchemes(
  source: Source,
  filter: { purpose: string | null; after: string | null; limit: number },
): Promise<Scheme[]> {
  const rows = await source.query<SchemeRow>(
    `SELECT ${schemeColumns} FROM sampling_scheme s ${nameOf("s.actor_id", "p")}
     WHERE NOT EXISTS (SELECT FROM sampling_scheme n WHERE n.code = s.code AND n.revision > s.revision)
       AND ($1::text IS NULL OR s.body::jsonb ->> 'purpose' = $1) AND ($2::text IS NULL OR s.code > $2)
     ORDER BY s.code LIMIT $3`,
    [filter.purpose, filter.after, filter.limit],
  );
  return rows.map(toScheme);
}

export async function findScheme(source: Source, id: string): Promise<Scheme | null> {
  const [row] = await source.query<SchemeRow>(
    `SELECT ${schemeColumns} FROM sampling_scheme s ${nameOf("s.actor_id", "p")} WHERE s.id = $1`,
    [id],
  );
  return row === undefined ? null : toScheme(row);
}

/** All revisions of a scheme, newest first. */
export async function findRevisions(source: Source, code: string): Promise<Scheme[]> {
  const rows = await source.query<SchemeRow>(
    `SELECT ${schemeColumns} FROM sampling_scheme s ${nameOf("s.actor_id", "p")} WHERE s.code = $1 ORDER BY s.revision DESC`,
    [code],
  );
  return rows.map(toScheme);
}

export async function insertScheme(
  tx: Tx,
  scheme: { id: string; code: string; revision: number; name: string; body: string },
  entryId: string,
): Promise<void> {
  await tx.query(
    "INSERT INTO sampling_scheme (id, code, revision, name, body, entry_id) VALUES ($1, $2, $3, $4, $5, $6)",
    [scheme.id, scheme.code, scheme.revision, scheme.name, scheme.body, entryId],
  );
}
