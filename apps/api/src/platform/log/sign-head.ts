import { mkdir } from "node:fs/promises";
import { writeCheckpoint } from "@sealbook/evidence/checkpoint";
import type pg from "pg";
import { inTransaction } from "../transaction.ts";
import { writeHeadFile } from "./head-file.ts";
import type { LogSigner } from "./log-signer.ts";
import { isHistoryLost } from "./lost-history.ts";
import { findNewestCheckpoint, holdHead, insertCheckpoint, type SignedHead } from "./store.ts";

/** A head is signed at most this often by itself, and at once when somebody asks for it. */
const secondsBetween = 10;

/**
 * Signs the head of the log when it has grown, and keeps what was signed: there is one signed head a size. It is kept
 * outside the database, too, before anybody gets it: a database that was put back behind it is then found out. While a
 * history is lost, nothing is signed.
 *
 * @param isAskedFor true signs without waiting for ten seconds since the head before
 * @returns the newest signed head, or null while the log is empty
 */
export async function signHead(
  pool: Pick<pg.Pool, "connect">,
  signer: LogSigner,
  { isAskedFor = false }: { isAskedFor?: boolean } = {},
): Promise<SignedHead | null> {
  return await inTransaction(pool, null, async (tx) => {
    const newest = await findNewestCheckpoint(tx);
    if (newest !== null && !isAskedFor && Date.now() - newest.at.getTime() < secondsBetween * 1000)
      return newest;
    const head = await holdHead(tx);
    if (head.size === (newest?.size ?? 0) || (await isHistoryLost(tx))) return newest;
    await insertCheckpoint(tx, head, writeCheckpoint(head, signer, signer.retiring));
    const signed = await findNewestCheckpoint(tx);
    // Kept before it is committed: the leaves that it stands over are, so it is true even if its own row is not kept.
    if (signed !== null && signer.headFolder !== undefined) {
      await mkdir(signer.headFolder, { recursive: true });
      await writeHeadFile(signer.headFolder, signed.note);
    }
    return signed;
  });
}
