import { toHex } from "@sealbook/evidence/bytes";
import { noteKeyId, readNoteKey } from "@sealbook/evidence/note-key";
import type { Database } from "../database.ts";
import type { LogSigner } from "./log-signer.ts";
import { signHead } from "./sign-head.ts";
import { findLogKey, findNewestCheckpoint, type Reader } from "./store.ts";

/** A signed head of the log as documents print it: whoever keeps the paper holds a head. */
export interface HeadToPrint {
  /** Name of the log. */
  readonly log: string;
  /** Entries under the head. */
  readonly size: number;
  /** First 32 hexadecimal digits of its root: 128 bits, which nobody finds a second log for. */
  readonly root: string;
  /** Id of the key that signed it, 8 hexadecimal digits; null where the ledger names none. */
  readonly keyId: string | null;
  /** All of it in one line. */
  readonly line: string;
}

/**
 * The newest signed head, for the foot of a document; signed now where this process holds the key.
 *
 * @returns null while there is no signed head
 */
export async function headToPrint(
  database: Pick<Database, "pool">,
  signer: LogSigner | null,
): Promise<HeadToPrint | null> {
  const reader: Reader = { query: async (sql, values) => (await database.pool.query(sql, values)).rows };
  const signed =
    signer === null
      ? await findNewestCheckpoint(reader)
      : await signHead(database.pool, signer, { isAskedFor: true });
  if (signed === null) return null;
  const [log = "", , base64 = ""] = signed.note.split("\n");
  const root = Buffer.from(base64, "base64").toString("hex").slice(0, 32);
  const read = readNoteKey((await findLogKey(reader)) ?? "");
  const keyId = read.kind === "accepted" ? toHex(noteKeyId(read.key)) : null;
  const line = `Log ${log}, ${signed.size} entries, root ${root}${keyId === null ? "" : `, key ${keyId}`}`;
  return { log, size: signed.size, root, keyId, line };
}
