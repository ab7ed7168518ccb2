import type { LedgerEntryView } from "@sealbook/contract/ledger";
import { ledgerEntryHash } from "@sealbook/evidence/ledger-entry";

/** Leaf hash of an entry as it is shown, to be held against the hash on record. */
export function hashOf(entry: LedgerEntryView): string {
  return ledgerEntryHash({
    id: entry.id,
    at: entry.at,
    actorId: entry.actor?.id ?? null,
    action: entry.action,
    subjectType: entry.subjectType,
    subjectId: entry.subjectId,
    reason: entry.reason,
    payload: entry.payload,
  });
}
