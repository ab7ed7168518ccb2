import { writeCheckpoint } from "@sealbook/evidence/checkpoint";
import type { NoteSigner } from "@sealbook/evidence/signed-note";
import type pg from "pg";
import { inTransaction } from "../transaction.ts";
import { findNewestCheckpoint, holdHead, insertCheckpoint, type SignedHead } from "./store.ts";

/** A head is signed at most this often by itself, and at once when somebody asks for it. */
const secondsBetween = 10;

/**
 * Signs the head of the log when it has grown, and keeps what was signed: there is one signed head a size.
 *
 * @param isAskedFor true signs without waiting for ten seconds since the head before
 * @returns the newest signed head, or null while the log is empty
 */
export async function signHead(
  pool: Pick<pg.Pool, "connect">,
  signer: NoteSigner,
  { isAskedFor = false }: { isAskedFor?: boolean } = {},
): Promise<SignedHead | null> {
  return await inTransaction(pool, null, async (tx) => {
    const newest = await findNewestCheckpoint(tx);
    if (newest !== null && !isAskedFor && Date.now() - newest.at.getTime() < secondsBetween * 1000)
      return newest;
    const head = await holdHead(tx);
    if (head.size === (newest?.size ?? 0)) return newest;
    await insertCheckpoint(tx, head, writeCheckpoint(head, signer));
    return await findNewestCheckpoint(tx);
  });
}
