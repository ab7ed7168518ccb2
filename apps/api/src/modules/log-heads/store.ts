import {
  type LostHistory,
  minutesBetweenDeliveries,
  type Outlet,
  type outletKinds,
} from "@sealbook/contract/log-heads";
import type { Source, Tx } from "../../platform/transaction.ts";

interface OutletRow {
  id: string;
  kind: (typeof outletKinds)[number];
  target: string;
  active: boolean;
  version: number;
  size: string | null;
  deliveredAt: Date | null;
  failedAt: Date | null;
  failure: string | null;
  overdue: boolean;
}

const outlets = `
  SELECT o.id, o.kind, o.target, o.active, o.version, d.size, d.delivered_at AS "deliveredAt", d.failed_at AS "failedAt", d.failure,
    o.active AND EXISTS (
      SELECT FROM log_checkpoint c WHERE c.size > coalesce(d.size, 0)
        AND greatest(c.at, o.created_at) < clock_timestamp() - interval '${2 * minutesBetweenDeliveries} minutes'
    ) AS overdue
  FROM log_outlet o LEFT JOIN log_delivery d ON d.outlet_id = o.id`;

export async function findOutlets(source: Source): Promise<Outlet[]> {
  const rows = await source.query<OutletRow>(`${outlets} ORDER BY o.active DESC, o.id DESC LIMIT 100`);
  return rows.map(toOutlet);
}

export async function findOutlet(source: Source, id: string): Promise<Outlet | null> {
  const [row] = await source.query<OutletRow>(`${outlets} WHERE o.id = $1`, [id]);
  return row === undefined ? null : toOutlet(row);
}

function toOutlet(row: OutletRow): Outlet {
  return {
    id: row.id,
    kind: row.kind,
    target: row.target,
    active: row.active,
    delivered:
      row.deliveredAt === null ? null : { size: Number(row.size), at: row.deliveredAt.toISOString() },
    failed:
      row.failedAt === null
        ? null
        : { at: row.failedAt.toISOString(), sentence: row.failure ?? "It failed." },
    overdue: row.overdue,
    version: row.version,
  };
}

export async function countActive(tx: Tx): Promise<number> {
  // Those who add at once wait for each other, so that the limit holds.
  await tx.query("SELECT pg_advisory_xact_lock(hashtext('sealbook log outlets'))");
  const [row] = await tx.query<{ count: number }>(
    "SELECT count(*)::int AS count FROM log_outlet WHERE active",
  );
  return row?.count ?? 0;
}

export async function insertOutlet(
  tx: Tx,
  outlet: { id: string; kind: string; target: string },
  entryId: string,
): Promise<void> {
  await tx.query("INSERT INTO log_outlet (id, kind, target, entry_id) VALUES ($1, $2, $3, $4)", [
    outlet.id,
    outlet.kind,
    outlet.target,
    entryId,
  ]);
}

export async function updateOutlet(tx: Tx, id: string, active: boolean, entryId: string): Promise<void> {
  await tx.query("UPDATE log_outlet SET active = $2, version = version + 1, entry_id = $3 WHERE id = $1", [
    id,
    active,
    entryId,
  ]);
}

/** Locks an outlet for its change. */
export async function lockOutlet(tx: Tx, id: string): Promise<boolean> {
  return (await tx.query("SELECT FROM log_outlet WHERE id = $1 FOR UPDATE", [id])).length === 1;
}

/** Outlets in use that have not got the newest signed head and were last served long enough ago. */
export async function findDueOutlets(source: Source): Promise<string[]> {
  const rows = await source.query<{ id: string }>(
    `SELECT o.id FROM log_outlet o LEFT JOIN log_delivery d ON d.outlet_id = o.id
     WHERE o.active AND (SELECT max(size) FROM log_checkpoint) > coalesce(d.size, 0)
       AND coalesce(greatest(d.delivered_at, d.failed_at), '-infinity')
         < clock_timestamp() - interval '${minutesBetweenDeliveries} minutes'`,
  );
  return rows.map(({ id }) => id);
}

/** Size that an outlet has already, by its own word or by what arrived. */
export async function recordDelivery(
  tx: Tx,
  outletId: string,
  { size, answer }: { size: number; answer: string },
): Promise<void> {
  await tx.query(
    `INSERT INTO log_delivery (outlet_id, size, delivered_at, answer) VALUES ($1, $2, clock_timestamp(), $3)
     ON CONFLICT (outlet_id) DO UPDATE SET size = excluded.size, delivered_at = excluded.delivered_at,
       answer = excluded.answer, failed_at = NULL, failure = NULL`,
    [outletId, size, answer],
  );
}

export async function recordFailure(tx: Tx, outletId: string, failure: string): Promise<void> {
  await tx.query(
    `INSERT INTO log_delivery (outlet_id, failed_at, failure) VALUES ($1, clock_timestamp(), $2)
     ON CONFLICT (outlet_id) DO UPDATE SET failed_at = excluded.failed_at, failure = excluded.failure`,
    [outletId, failure],
  );
}

/** Of the lost histories that nobody has signed, the longest. */
export async function findLostHistory(source: Source): Promise<LostHistory | null> {
  const [row] = await source.query<{
    id: string;
    size: string;
    note: string;
    foundSize: string;
    foundAt: Date;
  }>(
    `SELECT id, size, note, found_size AS "foundSize", found_at AS "foundAt" FROM lost_history
     WHERE accepted_entry_id IS NULL ORDER BY size DESC, id LIMIT 1`,
  );
  if (row === undefined) return null;
  return {
    id: row.id,
    size: Number(row.size),
    note: row.note,
    foundSize: Number(row.foundSize),
    foundAt: row.foundAt.toISOString(),
  };
}

export async function lockLostHistory(
  tx: Tx,
  id: string,
): Promise<{ size: number; note: string; foundSize: number; isAccepted: boolean } | null> {
  const [row] = await tx.query<{ size: string; note: string; foundSize: string; accepted: boolean }>(
    `SELECT size, note, found_size AS "foundSize", accepted_entry_id IS NOT NULL AS accepted
     FROM lost_history WHERE id = $1 FOR UPDATE`,
    [id],
  );
  if (row === undefined) return null;
  return {
    size: Number(row.size),
    note: row.note,
    foundSize: Number(row.foundSize),
    isAccepted: row.accepted,
  };
}

export async function setHistoryAccepted(tx: Tx, id: string, entryId: string): Promise<void> {
  await tx.query("UPDATE lost_history SET accepted_entry_id = $2 WHERE id = $1", [id, entryId]);
}
