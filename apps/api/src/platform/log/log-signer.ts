import { join } from "node:path";
import { writeNoteKey } from "@sealbook/evidence/note-key";
import { keyOfSigner, type NoteSigner } from "@sealbook/evidence/signed-note";
import type pg from "pg";
import type { Config } from "../../config.ts";
import { writeEntry } from "../ledger.ts";
import { inTransaction, type Tx } from "../transaction.ts";
import { logSeeds } from "./log-seed.ts";
import { isHistoryLost } from "./lost-history.ts";
import { findHead, findLogKey } from "./store.ts";

/** What signs the heads of a log. */
export interface LogSigner extends NoteSigner {
  /** Keys that it takes over from, which sign beside it for a while. */
  readonly retiring?: readonly NoteSigner[];
  /** Where every head that it signed is kept outside the database before anybody gets it. */
  readonly headFolder?: string;
}

/** Beside the secret of the key: the heads that left, by log. */
export function headFolder(config: Pick<Config, "SEALBOOK_DATA_FOLDER">): string {
  return join(config.SEALBOOK_DATA_FOLDER, "log-heads");
}

/** The same without a look at what the ledger says of keys: nothing is written. */
export async function signerOf(
  logId: string,
  config: Pick<Config, "LOG_KEY_SEED" | "LOG_KEY_SEED_RETIRING" | "SEALBOOK_DATA_FOLDER">,
): Promise<LogSigner> {
  const { seed, retiring } = await logSeeds(config, new Date());
  const name = `sealbook/${logId}`;
  return {
    name,
    seed,
    retiring: retiring.map((old) => ({ name, seed: old })),
    headFolder: headFolder(config),
  };
}

/**
 * The signer of the log in a database. Its name is the log's own; a key that is new to the log is recorded by a ledger
 * entry, so that the log itself tells when its key changed.
 */
export async function logSigner(
  pool: Pick<pg.Pool, "connect">,
  config: Pick<Config, "LOG_KEY_SEED" | "LOG_KEY_SEED_RETIRING" | "SEALBOOK_DATA_FOLDER">,
): Promise<LogSigner> {
  return await inTransaction(pool, null, (tx) => takeUpLogKey(tx, config));
}

/** The same in a transaction of the caller's. */
export async function takeUpLogKey(
  tx: Tx,
  config: Pick<Config, "LOG_KEY_SEED" | "LOG_KEY_SEED_RETIRING" | "SEALBOOK_DATA_FOLDER">,
): Promise<LogSigner> {
  // Of several starting processes one records the key.
  await tx.query("SELECT pg_advisory_xact_lock(hashtext('sealbook log key'))");
  const { logId } = await findHead(tx);
  const signer = await signerOf(logId, config);
  const key = writeNoteKey(keyOfSigner(signer));
  const before = await findLogKey(tx);
  if (before !== key && !(await isHistoryLost(tx))) {
    await writeEntry(tx, {
      action: "logKey.use",
      subjectType: "logKey",
      subjectId: logId,
      payload: { key, before },
    });
  }
  return signer;
}
