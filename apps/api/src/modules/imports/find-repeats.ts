import type { InventoryField } from "@sealbook/contract/imports";
import type { Tx } from "../../platform/transaction.ts";

/** What tells a row's thing from others: a meter's number, say. */
export interface RowKey {
  readonly rowNumber: number;
  readonly field: InventoryField;
  readonly text: string;
}

export interface Repeat {
  readonly rowNumber: number;
  readonly field: InventoryField;
  readonly text: string;
  readonly earlier: number;
}

/**
 * Makes the place where a dry run remembers what its file has named. It lives and dies with the job's connection, and
 * takes the database's memory, so that a file of a million rows takes none of the service's.
 */
export async function rememberKeys(tx: Tx): Promise<void> {
  await tx.query(
    `CREATE TEMP TABLE IF NOT EXISTS seen_key (field text, key text, row_number integer NOT NULL, PRIMARY KEY (field, key))`,
  );
  await tx.query("DELETE FROM seen_key");
}

/** Which of these keys an earlier row has; the others are remembered. */
export async function findRepeats(tx: Tx, keys: readonly RowKey[]): Promise<Repeat[]> {
  const rows = await tx.query<{ field: InventoryField; key: string; row_number: number; earlier: number }>(
    `WITH given AS MATERIALIZED (SELECT * FROM unnest($1::text[], $2::text[], $3::int[]) AS g (field, key, row_number)),
       firsts AS (
         INSERT INTO seen_key AS s (field, key, row_number) SELECT field, key, min(row_number) FROM given GROUP BY field, key
         ON CONFLICT (field, key) DO UPDATE SET row_number = s.row_number RETURNING field, key, row_number
       )
     SELECT field, key, g.row_number, f.row_number AS earlier
     FROM given g JOIN firsts f USING (field, key) WHERE f.row_number < g.row_number ORDER BY g.row_number`,
    [keys.map(({ field }) => field), keys.map(({ text }) => text), keys.map(({ rowNumber }) => rowNumber)],
  );
  return rows.map(({ field, key, row_number, earlier }) => ({
    field,
    text: key,
    rowNumber: row_number,
    earlier,
  }));
}
