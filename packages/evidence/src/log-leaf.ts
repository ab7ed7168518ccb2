import { utf8 } from "./bytes.ts";
import { canonicalJson } from "./canonical-json.ts";
import { leafHash } from "./leaf-and-node-hash.ts";
import { type LedgerEntry, ledgerEntryHash, ledgerEntryText } from "./ledger-entry.ts";
import type { LoggedRows } from "./logged-rows.ts";

/**
 * The text that is hashed into the log as the leaf of an entry.
 *
 * Format 2 holds the hash of the entry and the root over the rows that it wrote. Format 1, of entries from before rows
 * stood in the log, is the text of the entry alone.
 *
 * @param rows what the entry wrote; null for a leaf of format 1
 */
export function logLeafText(entry: LedgerEntry, rows: LoggedRows | null): string {
  if (rows === null) return ledgerEntryText(entry);
  return canonicalJson({
    entry: ledgerEntryHash(entry),
    format: 2,
    rows: { count: rows.count, root: rows.root },
  });
}

/** Leaf of an entry in the log, 32 bytes. @source RFC 6962 section 2.1 */
export function logLeafHash(entry: LedgerEntry, rows: LoggedRows | null): Uint8Array {
  return leafHash(utf8(logLeafText(entry, rows)));
}
