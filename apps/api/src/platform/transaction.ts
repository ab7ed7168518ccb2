import { randomBytes, randomInt } from "node:crypto";
import { Readable } from "node:stream";
import { pipeline } from "node:stream/promises";
import { setTimeout as sleep } from "node:timers/promises";
import type { Role } from "@sealbook/contract/permissions";
import { uuidV7 } from "@sealbook/evidence/uuid-v7";
import type pg from "pg";
import { from as copyFrom } from "pg-copy-streams";
import { isTransactionConflict } from "./database-errors.ts";
import { ProblemError } from "./problem-error.ts";

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
  let afterwards: ProblemError["afterwards"];
  try {
    await client.query(
      `BEGIN; SELECT set_config('sealbook.actor', '${actor === null ? "" : checkedUuid(actor.id)}', true)`,
    );
    const result = await work({
      actor,
      async query<Row extends pg.QueryResultRow>(sql: string, values?: unknown[]) {
        return (await client.query<Row>(sql, values)).rows;
      },
      async copyIn(sql, text) {
        await pipeline(Readable.from(text), client.query(copyFrom(sql)));
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
    if (error instanceof ProblemError) afterwards = error.afterwards;
    throw error;
  } finally {
    client.release(broken);
    if (afterwards !== undefined) await inTransaction(pool, actor, afterwards);
  }
}

/** A transaction that was given up for another one's sake is done again so often at most. */
const mostConflicts = 5;

/**
 * The same, done again when the database gave it up because another transaction stood in its way. So the work must
 * leave nothing outside its transaction.
 *
 * @throws what the last attempt threw, after five
 */
export async function inTransactionAgain<Result>(
  pool: Pick<pg.Pool, "connect">,
  actor: Actor | null,
  work: (tx: Tx) => Promise<Result>,
): Promise<Result> {
  for (let attempt = 1; ; attempt++) {
    try {
      return await inTransaction(pool, actor, work);
    } catch (error) {
      if (attempt >= mostConflicts || !isTransactionConflict(error)) throw error;
      // Unequal pauses, or the same two would meet again.
      await sleep(randomInt(5, 20 * attempt));
    }
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
