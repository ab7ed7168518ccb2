import type { LedgerEntryView } from "@sealbook/contract/ledger";
import { type LedgerEntry, ledgerEntryHash } from "@sealbook/evidence/ledger-entry";

/** Hash of an entry as it is shown, to be held against the hash on record. */
export function hashOf(entry: LedgerEntryView): string {
  return ledgerEntryHash(shownEntry(entry));
}

/** The entry that is hashed, from what is shown of it. */
export function shownEntry(entry: LedgerEntryView): LedgerEntry {
  return {
    id: entry.id,
    at: entry.at,
    actorId: entry.actor?.id ?? null,
    action: entry.action,
    subjectType: entry.subjectType,
    subjectId: entry.subjectId,
    reason: entry.reason,
    payload: entry.payload,
  };
}
