import type { LedgerAction } from "@sealbook/contract/ledger";
import { type CanonicalValue, canonicalJson } from "@sealbook/evidence/canonical-json";
import { newId, type Tx } from "./transaction.ts";

/** What a change writes into the ledger. Personal values go in as commitments only. */
export interface NewEntry {
  action: LedgerAction;
  subjectType: string;
  subjectId: string;
  reason?: string | null;
  payload: { readonly [key: string]: CanonicalValue | undefined };
}

/**
 * Writes one ledger entry in the caller's transaction and returns its id, which the changed rows must carry.
 * Time and author come from the database.
 */
export async function writeEntry(tx: Tx, entry: NewEntry): Promise<string> {
  const id = newId();
  await tx.query(
    "INSERT INTO ledger_entry (id, action, subject_type, subject_id, reason, payload) VALUES ($1, $2, $3, $4, $5, $6)",
    [id, entry.action, entry.subjectType, entry.subjectId, entry.reason ?? null, payloadOf(tx, entry)],
  );
  return id;
}

/** Writes many entries at once, in order; returns their ids in the same order. */
export async function writeEntries(tx: Tx, entries: readonly NewEntry[]): Promise<string[]> {
  const ids = entries.map(() => newId());
  await tx.query(
    `INSERT INTO ledger_entry (id, action, subject_type, subject_id, reason, payload)
     SELECT * FROM unnest($1::uuid[], $2::text[], $3::text[], $4::text[], $5::text[], $6::text[])`,
    [
      ids,
      entries.map((entry) => entry.action),
      entries.map((entry) => entry.subjectType),
      entries.map((entry) => entry.subjectId),
      entries.map((entry) => entry.reason ?? null),
      entries.map((entry) => payloadOf(tx, entry)),
    ],
  );
  return ids;
}

/** What a person did through an API token says so: the token's id stands beside what was recorded. */
function payloadOf(tx: Tx, { payload }: NewEntry): string {
  const tokenId = tx.actor?.tokenId;
  return canonicalJson(tokenId === undefined ? payload : { ...payload, byToken: tokenId });
}
