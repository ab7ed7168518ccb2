import type pg from "pg";
import type { Database } from "./database.ts";
import type { Tx } from "./transaction.ts";

/** Reads outside a transaction through the same shape as inside one, so that a query is written once. */
export function reading(database: Pick<Database, "pool">): Pick<Tx, "query"> {
  return {
    async query<Row extends pg.QueryResultRow>(sql: string, values?: unknown[]) {
      return (await database.pool.query<Row>(sql, values)).rows;
    },
  };
}
