import type { Tx } from "../platform/transaction.ts";

/** Tables that a large demo fills. */
const filled = [
  "personal_value",
  "place",
  "service_point",
  "meter",
  "meter_event",
  "meter_standing",
  "meter_test",
  "meter_test_point",
];

/** Triggers that do for each row, or for a few, what is done for all of them afterwards. */
const aside = [
  { table: "meter_test", trigger: "entered" },
  { table: "meter_test", trigger: "standing" },
  { table: "meter_event", trigger: "standing" },
  { table: "meter", trigger: "standing" },
];

/**
 * Takes off what makes loading slow: indexes that no key needs, foreign keys, triggers that follow each row. What puts
 * them back is kept in a table of the database until it has been done.
 */
export async function setIndexesAside(tx: Tx): Promise<void> {
  await tx.query(
    "CREATE TABLE unfinished_load (ordinal integer GENERATED ALWAYS AS IDENTITY PRIMARY KEY, statement text NOT NULL)",
  );
  const indexes = await tx.query<{ name: string; definition: string }>(
    `SELECT i.indexrelid::regclass::text AS name, pg_get_indexdef(i.indexrelid) AS definition
     FROM pg_index i JOIN pg_class c ON c.oid = i.indrelid
     WHERE c.relname = ANY($1) AND c.relnamespace = 'public'::regnamespace AND NOT i.indisprimary
       AND NOT EXISTS (SELECT FROM pg_constraint k WHERE k.conindid = i.indexrelid)`,
    [filled],
  );
  const keys = await tx.query<{ table: string; name: string; definition: string }>(
    `SELECT c.relname AS table, k.conname AS name, pg_get_constraintdef(k.oid) AS definition
     FROM pg_constraint k JOIN pg_class c ON c.oid = k.conrelid
     WHERE k.contype = 'f' AND c.relname = ANY($1) AND c.relnamespace = 'public'::regnamespace`,
    [filled],
  );
  const restore: string[] = [];
  for (const { name, definition } of indexes) {
    await tx.query(`DROP INDEX ${name}`);
    restore.push(definition);
  }
  for (const { table, name, definition } of keys) {
    await tx.query(`ALTER TABLE ${table} DROP CONSTRAINT ${name}`);
    restore.push(`ALTER TABLE ${table} ADD CONSTRAINT ${name} ${definition}`);
  }
  for (const { table, trigger } of aside) {
    await tx.query(`ALTER TABLE ${table} DISABLE TRIGGER ${trigger}`);
    restore.push(`ALTER TABLE ${table} ENABLE ALWAYS TRIGGER ${trigger}`);
  }
  await tx.query("INSERT INTO unfinished_load (statement) SELECT unnest($1::text[])", [restore]);
}

/** The statements that are left to be done to put back what was taken off, or null where nothing was. */
export async function statementsLeft(tx: Tx): Promise<{ ordinal: number; statement: string }[] | null> {
  const [found] = await tx.query<{ is: boolean }>(
    "SELECT to_regclass('public.unfinished_load') IS NOT NULL AS is",
  );
  if (found?.is !== true) return null;
  return await tx.query<{ ordinal: number; statement: string }>(
    "SELECT ordinal, statement FROM unfinished_load ORDER BY ordinal",
  );
}

export async function putBack(
  tx: Tx,
  { ordinal, statement }: { ordinal: number; statement: string },
): Promise<void> {
  await tx.query("SET LOCAL maintenance_work_mem = '512MB'");
  await tx.query(statement);
  await tx.query("DELETE FROM unfinished_load WHERE ordinal = $1", [ordinal]);
}

export async function forgetLoad(tx: Tx): Promise<void> {
  await tx.query("DROP TABLE unfinished_load");
}
