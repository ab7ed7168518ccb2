import type { Signature } from "@sealbook/contract/common";
import type { LedgerAction } from "@sealbook/contract/ledger";
import { ledgerEntryHash } from "@sealbook/evidence/ledger-entry";
import { isUniqueViolation } from "../../platform/database-errors.ts";
import { writeEntry } from "../../platform/ledger.ts";
import { personRef } from "../../platform/person-ref.ts";
import { notFound, ProblemError } from "../../platform/problem-error.ts";
import { newId, type Source, type Tx } from "../../platform/transaction.ts";
import { requireOwnPassword } from "./confirm-self.ts";

/** What is signed: a row on record, and the ledger entry that the signature covers. */
export interface RecordToSign {
  readonly subjectType: "calibration" | "report" | "ruleProfile";
  readonly subjectId: string;
  /** What the signature says, one of those that the table knows for this kind of record. */
  readonly meaning: string;
  /** Entry by which the record was made; its hash stands in the signature. */
  readonly recordEntryId: string;
  /** Action of the signature's own entry, such as "calibration.sign". */
  readonly action: LedgerAction;
}

/**
 * Signs a record as the signed-in person, who gives their password again; the signature shows name, meaning, time and
 * the hash of what was signed.
 *
 * @param pointer where the password stands in the request
 * @throws ProblemError sign-in-refused, too-many-requests, not-permitted as `requireOwnPassword`; already-signed
 * @source the intent of 21 CFR 11.50, 11.70 and 11.200; ISO/IEC 17025:2017, 7.8.2.1 o
 */
export async function signWithPassword(
  tx: Tx,
  record: RecordToSign,
  password: string,
  pointer = "/password",
): Promise<void> {
  await requireOwnPassword(tx, password, pointer);
  const recordHash = await hashOfEntry(tx, record.recordEntryId);
  const id = newId();
  const entryId = await writeEntry(tx, {
    action: record.action,
    subjectType: record.subjectType,
    subjectId: record.subjectId,
    payload: {
      signatureId: id,
      meaning: record.meaning,
      recordEntryId: record.recordEntryId,
      recordHash,
    },
  });
  try {
    await tx.query(
      "INSERT INTO signature (id, subject_type, subject_id, meaning, record_hash, entry_id) VALUES ($1, $2, $3, $4, $5, $6)",
      [id, record.subjectType, record.subjectId, record.meaning, recordHash, entryId],
    );
  } catch (error) {
    if (!isUniqueViolation(error)) throw error;
    throw new ProblemError("already-signed", "You have signed this already; nothing is left to do.");
  }
}

/** Signatures under records of any kind, oldest first, by the id of the record. */
export async function findSignatures(
  source: Source,
  subjectIds: readonly string[],
): Promise<ReadonlyMap<string, Signature[]>> {
  const found = new Map<string, Signature[]>(subjectIds.map((id) => [id, []]));
  if (subjectIds.length === 0) return found;
  const rows = await source.query<{
    id: string;
    subject_id: string;
    account_id: string;
    name: string | null;
    meaning: string;
    signed_at: Date;
    record_hash: string;
  }>(
    `SELECT g.id, g.subject_id, g.account_id, v.value AS name, g.meaning, g.signed_at, g.record_hash
     FROM signature g JOIN account a ON a.id = g.account_id JOIN personal_value v ON v.id = a.name_id
     WHERE g.subject_id = ANY($1) ORDER BY g.signed_at, g.id`,
    [subjectIds],
  );
  for (const row of rows) {
    found.get(row.subject_id)?.push({
      id: row.id,
      person: personRef(row.account_id, row.name),
      meaning: row.meaning,
      signedAt: row.signed_at.toISOString(),
      recordHash: row.record_hash,
    });
  }
  return found;
}

async function hashOfEntry(tx: Tx, id: string): Promise<string> {
  const [entry] = await tx.query<{
    at: Date;
    actor_id: string | null;
    action: string;
    subject_type: string;
    subject_id: string;
    reason: string | null;
    payload: string;
  }>(
    "SELECT at, actor_id, action, subject_type, subject_id, reason, payload FROM ledger_entry WHERE id = $1",
    [id],
  );
  if (entry === undefined) throw notFound("ledger entry");
  return ledgerEntryHash({
    id,
    at: entry.at.toISOString(),
    actorId: entry.actor_id,
    action: entry.action,
    subjectType: entry.subject_type,
    subjectId: entry.subject_id,
    reason: entry.reason,
    payload: entry.payload,
  });
}
