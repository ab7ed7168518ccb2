import { randomBytes } from "node:crypto";
import type { Role } from "@sealbook/contract/permissions";
import { uuidV7 } from "@sealbook/evidence/uuid-v7";
import type pg from "pg";

/** Who acts: the signed-in account, or null for the service itself. */
export interface Actor {
  readonly id: string;
  readonly role: Role;
  readonly username: string;
}

/** One transaction on one connection; functions that write take it first and read through it too. */
export interface Tx {
  readonly actor: Actor | null;
  query<Row extends pg.QueryResultRow>(sql: string, values?: unknown[]): Promise<Row[]>;
}

/** What a query that only reads goes through: a transaction, or `reading(database)` outside one. */
export type Source = Pick<Tx, "query">;

/** The acting account of a transaction that only people start. */
export function actorOf(tx: Tx): Actor {
  if (tx.actor === null) throw new Error("this use case needs a signed-in person");
  return tx.actor;
}

/**
 * Runs work in one transaction: committed when it returns, rolled back when it throws. The author that the database
 * writes beside each row is set here and nowhere else.
 */
export async function inTransaction<Result>(
  pool: Pick<pg.Pool, "connect">,
  actor: Actor | null,
  work: (tx: Tx) => Promise<Result>,
): Promise<Result> {
  const client = await pool.connect();
  let broken: Error | undefined;
  try {
    await client.query(
      `BEGIN; SELECT set_config('sealbook.actor', '${actor === null ? "" : checkedUuid(actor.id)}', true)`,
    );
    const result = await work({
      actor,
      async query<Row extends pg.QueryResultRow>(sql: string, values?: unknown[]) {
        return (await client.query<Row>(sql, values)).rows;
      },
    });
    await client.query("COMMIT");
    return result;
  } catch (error) {
    try {
      await client.query("ROLLBACK");
    } catch (rollbackError) {
      broken = rollbackError as Error;
    }
    throw error;
  } finally {
    client.release(broken);
  }
}

function checkedUuid(text: string): string {
  if (!/^[0-9a-f-]{36}$/.test(text)) throw new Error("an account id is a UUID");
  return text;
}

/** A new UUID of version 7 from the server's clock and randomness. */
export function newId(): string {
  return uuidV7(Date.now(), randomBytes(10));
}
