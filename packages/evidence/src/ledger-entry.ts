import { toHex, utf8 } from "./bytes.ts";
import { canonicalJson } from "./canonical-json.ts";
import { leafHash } from "./leaf-and-node-hash.ts";

/** One entry of the ledger: who changed what, when, why, and to what. */
export interface LedgerEntry {
  /** UUID version 7. */
  id: string;
  /** When the database took it: ISO 8601 in UTC with milliseconds. */
  at: string;
  /** Account that acted; null is the service itself. */
  actorId: string | null;
  /** "noun.verb" from the contract's list. */
  action: string;
  subjectType: string;
  subjectId: string;
  reason: string | null;
  /** Canonical JSON of what was recorded, kept as text. */
  payload: string;
}

/**
 * The text of an entry that is hashed: canonical JSON of the entry with a format number.
 * The payload goes in as the text that was stored, so nobody has to parse it to check it.
 */
export function ledgerEntryText(entry: LedgerEntry): string {
  return canonicalJson({
    format: 1,
    id: entry.id,
    at: entry.at,
    actorId: entry.actorId,
    action: entry.action,
    subjectType: entry.subjectType,
    subjectId: entry.subjectId,
    reason: entry.reason,
    payload: entry.payload,
  });
}

/**
 * Hash of an entry, 64 hexadecimal digits: what a signature under a record names, and what the entry's leaf holds (see
 * log-leaf.ts).
 * @source RFC 6962 section 2.1, a leaf hash
 */
export function ledgerEntryHash(entry: LedgerEntry): string {
  return toHex(leafHash(utf8(ledgerEntryText(entry))));
}
