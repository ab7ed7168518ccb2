import type { LedgerEntryView } from "@sealbook/contract/ledger";
import { ledgerEntryHash } from "@sealbook/evidence/ledger-entry";
import { fromCursor, toPage } from "../../platform/cursor.ts";
import type { Database } from "../../platform/database.ts";
import { personRef } from "../../platform/person-ref.ts";
import { notFound } from "../../platform/problem-error.ts";
import { reading } from "../../platform/reading.ts";
import { findBoundsOfDays, findEntries, type LedgerRow } from "./store.ts";
import { findSubjectNames } from "./subject-names.ts";

/** Ledger entries, newest first; ids are UUIDs of version 7, so their order is that of time. */
export async function listLedger(
  database: Database,
  query: {
    cursor?: string | undefined;
    limit: number;
    subjectId?: string | undefined;
    actorId?: string | undefined;
    action?: string | undefined;
    from?: string | undefined;
    to?: string | undefined;
  },
): Promise<{ rows: LedgerEntryView[]; next: string | null }> {
  const before = query.cursor === undefined ? null : String(fromCursor(query.cursor, 1)[0]);
  const { since, until } = await findBoundsOfDays(reading(database), query);
  const rows = await findEntries(database, { ...query, since, until, before, limit: query.limit + 1 });
  return toPage(await toViews(database, rows), query.limit, (row) => [row.id]);
}

export async function getLedgerEntry(database: Database, id: string): Promise<LedgerEntryView> {
  const row = await database.prisma.ledgerEntry.findUnique({
    where: { id },
    include: { actor: { include: { name: true } } },
  });
  if (row === null) throw notFound("ledger entry");
  const [view] = await toViews(database, [row]);
  if (view === undefined) throw notFound("ledger entry");
  return view;
}

async function toViews(database: Database, rows: readonly LedgerRow[]): Promise<LedgerEntryView[]> {
  const names = await findSubjectNames(reading(database), [
    ...new Set(rows.map(({ subjectId }) => subjectId)),
  ]);
  return rows.map((row) => toView(row, names.get(row.subjectId) ?? null));
}

function toView(row: LedgerRow, subjectName: string | null): LedgerEntryView {
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
    subjectName,
    actor: row.actor === null ? null : personRef(row.actor.id, row.actor.name.value),
    hash: ledgerEntryHash(entry),
  };
}
