import type { Role } from "@sealbook/contract/permissions";
import type pg from "pg";

/** Who acts: the signed-in account, or null for the service itself. */
export interface Actor {
  readonly id: string;
  readonly role: Role;
  readonly username: string;
  /** The API token that the request came with; absent for somebody who signed in. */
  readonly tokenId?: string;
  /** Places that the account is limited to; none is no limit. */
  readonly placeIds?: readonly string[];
}

/** One transaction on one connection; functions that write take it first and read through it too. */
export interface Tx {
  readonly actor: Actor | null;
  query<Row extends pg.QueryResultRow>(sql: string, values?: unknown[]): Promise<Row[]>;
  /** Runs a COPY ... FROM STDIN; copy-text.ts writes its lines. */
  copyIn(sql: string, text: Iterable<string>): Promise<void>;
}

/** What a query that only reads goes through: a transaction, or `reading(database)` outside one. */
export type Source = Pick<Tx, "query">;
