import { writeNoteKey } from "@sealbook/evidence/note-key";
import { keyOfSigner, type NoteSigner } from "@sealbook/evidence/signed-note";
import type pg from "pg";
import type { Config } from "../../config.ts";
import { writeEntry } from "../ledger.ts";
import { inTransaction } from "../transaction.ts";
import { logSeed } from "./log-seed.ts";
import { findHead, findLogKey } from "./store.ts";

/**
 * The signer of the log in a database. Its name is the log's own; a key that is new to the log is recorded by a ledger
 * entry, so that the log itself tells when its key changed.
 */
export async function logSigner(
  pool: Pick<pg.Pool, "connect">,
  config: Pick<Config, "LOG_KEY_SEED" | "SEALBOOK_DATA_FOLDER">,
): Promise<NoteSigner> {
  const seed = await logSeed(config);
  return await inTransaction(pool, null, async (tx) => {
    // Of several starting processes one records the key.
    await tx.query("SELECT pg_advisory_xact_lock(hashtext('sealbook log key'))");
    const { logId } = await findHead(tx);
    const signer = { name: `sealbook/${logId}`, seed };
    const key = writeNoteKey(keyOfSigner(signer));
    const before = await findLogKey(tx);
    if (before !== key) {
      await writeEntry(tx, {
        action: "logKey.use",
        subjectType: "logKey",
        subjectId: logId,
        payload: { key, before },
      });
    }
    return signer;
  });
}
