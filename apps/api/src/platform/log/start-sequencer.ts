import pg from "pg";
import type { Logger } from "pino";
import type { Database } from "../database.ts";
import { inTransaction } from "../transaction.ts";
import type { LogSigner } from "./log-signer.ts";
import { batchSize, sequenceEntries } from "./sequence-entries.ts";
import { signHead } from "./sign-head.ts";

/** Entries stand in the log within a second: a round of this many milliseconds, and the work of one. */
const roundMilliseconds = 300;

export interface Sequencer {
  /** Ends after the round under way. */
  stop(): Promise<void>;
}

/**
 * Moves committed entries into the log and signs its head, until stopped. Each process of the service runs one; an
 * advisory lock lets one of them work at a time. It has a connection of its own, so that a busy service does not keep
 * entries out of the log.
 */
export function startSequencer({
  database,
  signer,
  log,
}: {
  database: Pick<Database, "url">;
  signer: LogSigner;
  log: Logger;
}): Sequencer {
  const pool = new pg.Pool({
    connectionString: database.url,
    max: 1,
    application_name: "sealbook log",
    connectionTimeoutMillis: 5_000,
    statement_timeout: 30_000,
    lock_timeout: 5_000,
    idle_in_transaction_session_timeout: 30_000,
  });
  pool.on("error", (error) => log.warn({ err: error }, "an idle connection of the log broke"));
  // Without a listener, one that breaks between two statements of a round would end the process.
  pool.on("connect", (client) => client.on("error", () => undefined));

  let isStopping = false;
  let timer: NodeJS.Timeout | undefined;
  let hasFailed = false;
  const round = async (): Promise<void> => {
    try {
      let moved = batchSize;
      // A full batch means that more may wait.
      while (moved === batchSize && !isStopping) {
        moved = await inTransaction(pool, null, (tx) => sequenceEntries(tx));
      }
      await signHead(pool, signer);
      hasFailed = false;
    } catch (error) {
      // Said once until it works again: a database that is away would otherwise fill the service's own log.
      if (!hasFailed) log.error({ err: error }, "entries could not be moved into the log; they wait");
      hasFailed = true;
    }
  };
  let doing = Promise.resolve();
  const next = (): void => {
    doing = round().then(() => {
      if (!isStopping) timer = setTimeout(next, roundMilliseconds);
    });
  };
  next();
  return {
    async stop() {
      isStopping = true;
      clearTimeout(timer);
      await doing;
      await pool.end();
    },
  };
}
