import { randomBytes, randomInt } from "node:crypto";
import { Readable } from "node:stream";
import { pipeline } from "node:stream/promises";
import { setTimeout as sleep } from "node:timers/promises";
import { uuidV7 } from "@sealbook/evidence/uuid-v7";
import type pg from "pg";
import { from as copyFrom } from "pg-copy-streams";
import { isTransactionConflict } from "./database-errors.ts";
import { ProblemError } from "./problem-error.ts";
import type { Actor, Tx } from "./tx.ts";

export type { Actor, Source, Tx } from "./tx.ts";

/** The acting account of a transaction that only people start. */
export function actorOf(tx: Tx): Actor {
  if (tx.actor === null) throw new Error("this use case needs a signed-in person");
  return tx.actor;
}

/**
 * Runs work in one transaction: committed when it returns, rolled back when it throws. The author that the database
 * writes beside each row is set here and nowhere else. What a refusal keeps in spite of itself follows on the same
 * connection, before anybody else gets it.
 */
export async function inTransaction<Result>(
  pool: Pick<pg.Pool, "connect">,
  actor: Actor | null,
  work: (tx: Tx) => Promise<Result>,
): Promise<Result> {
  const client = await pool.connect();
  const connection: { broken?: Error } = {};
  try {
    return await transact(client, connection, actor, work);
  } catch (error) {
    if (error instanceof ProblemError && error.afterwards !== undefined && connection.broken === undefined) {
      await transact(client, connection, actor, error.afterwards);
    }
    throw error;
  } finally {
    client.release(connection.broken);
  }
}

async function transact<Result>(
  client: pg.PoolClient,
  connection: { broken?: Error },
  actor: Actor | null,
  work: (tx: Tx) => Promise<Result>,
): Promise<Result> {
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
      connection.broken = rollbackError as Error;
    }
    throw error;
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
