import type { LedgerEntryView } from "@sealbook/contract/ledger";
import { ledgerEntryHash } from "@sealbook/evidence/ledger-entry";
import { fromCursor, toPage } from "../../platform/cursor.ts";
import type { Database } from "../../platform/database.ts";
import { personRef } from "../../platform/person-ref.ts";
import { notFound } from "../../platform/problem-error.ts";
import { findEntries, type LedgerRow } from "./store.ts";

/** Ledger entries, newest first; ids are UUIDs of version 7, so their order is that of time. */
export async function listLedger(
  database: Database,
  query: {
    cursor?: string | undefined;
    limit: number;
    subjectId?: string | undefined;
    actorId?: string | undefined;
    action?: string | undefined;
  },
): Promise<{ rows: LedgerEntryView[]; next: string | null }> {
  const before = query.cursor === undefined ? null : String(fromCursor(query.cursor, 1)[0]);
  const rows = await findEntries(database, { ...query, before, limit: query.limit + 1 });
  return toPage(rows.map(toView), query.limit, (row) => [row.id]);
}

export async function getLedgerEntry(database: Database, id: string): Promise<LedgerEntryView> {
  const row = await database.prisma.ledgerEntry.findUnique({
    where: { id },
    include: { actor: { include: { name: true } } },
  });
  if (row === null) throw notFound("ledger entry");
  return toView(row);
}

function toView(row: LedgerRow): LedgerEntryView {
  const entry = {
    id: row.id,
    at: row.at.toISOString(),
    actorId: row.actorId,
    action: row.action,
    subjectType: row.subjectType,
    subjectId: row.subjectId,
    reason: row.reason,
    payload: row.payload,
  };
  const { actorId: _, ...shown } = entry;
  return {
    ...shown,
    actor: row.actor === null ? null : personRef(row.actor.id, row.actor.name.value),
    hash: ledgerEntryHash(entry),
  };
}
