import type pg from "pg";
import type { Database } from "./database.ts";
import type { Source } from "./transaction.ts";

/** Reads outside a transaction through the same shape as inside one, so that a query is written once. */
export function reading(database: Pick<Database, "pool">): Source {
  return {
    async query<Row extends pg.QueryResultRow>(sql: string, values?: unknown[]) {
      return (await database.pool.query<Row>(sql, values)).rows;
    },
  };
}
