import type { Database } from "../database.ts";

/**
 * How far the log is behind the ledger.
 *
 * @returns entries that wait for their leaf, and the age of the oldest of them in seconds, 0 when none waits
 */
export async function findLogLag(
  database: Pick<Database, "pool">,
): Promise<{ waiting: number; seconds: number }> {
  const { rows } = await database.pool.query<{ waiting: number; seconds: number }>(
    `SELECT (SELECT count(*)::int FROM log_pending) AS waiting,
       coalesce((SELECT extract(epoch FROM clock_timestamp() - e.at)::float8
                 FROM log_pending p JOIN ledger_entry e ON e.id = p.entry_id ORDER BY p.entry_id LIMIT 1), 0) AS seconds`,
  );
  const [row] = rows;
  return { waiting: row?.waiting ?? 0, seconds: Math.max(0, row?.seconds ?? 0) };
}

/**
 * How long ago the outlet that is furthest behind was last sent a head.
 *
 * @returns seconds; null while heads are sent nowhere, or none has arrived yet
 */
export async function findDeliveryAge(database: Pick<Database, "pool">): Promise<number | null> {
  const { rows } = await database.pool.query<{ seconds: number | null }>(
    `SELECT extract(epoch FROM clock_timestamp() - min(d.delivered_at))::float8 AS seconds
     FROM log_outlet o JOIN log_delivery d ON d.outlet_id = o.id WHERE o.active`,
  );
  return rows[0]?.seconds ?? null;
}
