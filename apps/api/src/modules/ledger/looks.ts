import type { Look } from "@sealbook/contract/ledger";
import { operations } from "@sealbook/contract/operations";
import { fromCursor, toPage } from "../../platform/cursor.ts";
import type { Database } from "../../platform/database.ts";
import { personRef } from "../../platform/person-ref.ts";
import { reading } from "../../platform/reading.ts";
import { findBoundsOfDays, findLooks } from "./store.ts";

const summaries = new Map(operations.map(({ id, summary }) => [id, summary]));

/** What regulators asked for, newest first; ids are UUIDs of version 7, so their order is that of time. */
export async function listLooks(
  database: Database,
  query: {
    cursor?: string | undefined;
    limit: number;
    actorId?: string | undefined;
    from?: string | undefined;
    to?: string | undefined;
  },
): Promise<{ rows: Look[]; next: string | null }> {
  const source = reading(database);
  const before = query.cursor === undefined ? null : String(fromCursor(query.cursor, 1)[0]);
  const { since, until } = await findBoundsOfDays(source, query);
  const rows = await findLooks(source, {
    actorId: query.actorId ?? null,
    since,
    until,
    before,
    limit: query.limit + 1,
  });
  const page = toPage(rows, query.limit, (row) => [row.id]);
  return {
    rows: page.rows.map((row) => ({
      id: row.id,
      at: row.at.toISOString(),
      person: personRef(row.account_id, row.name),
      operation: row.operation,
      summary: summaries.get(row.operation) ?? row.operation,
      parameters: row.parameters,
      allowed: row.allowed,
    })),
    next: page.next,
  };
}
