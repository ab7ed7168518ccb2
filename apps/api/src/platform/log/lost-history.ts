import { equalBytes } from "@sealbook/evidence/bytes";
import { openCheckpoint } from "@sealbook/evidence/checkpoint";
import { joinSubtrees } from "@sealbook/evidence/frontier";
import { type NoteKey, readNoteKey } from "@sealbook/evidence/note-key";
import { subtreesOf } from "@sealbook/evidence/proof-ranges";
import type { Logger } from "pino";
import { newId, type Tx } from "../transaction.ts";
import { readHeadFile, setHeadFileAside } from "./head-file.ts";
import { findHead, findLogKeys, findSubtreeHashes, type Reader } from "./store.ts";

/** A head that left this database and is not under its log any more. */
export interface LostHead {
  readonly size: number;
  readonly note: string;
  readonly logSize: number;
}

/**
 * Holds a head that was kept outside against the log: every head that left has to be under it for ever. One that is not
 * tells that an older backup was put back, or that the log was bent.
 *
 * @param note kept outside; one that no known key signed, or of another log, says nothing and is passed over
 * @param ownKeys keys that this process signs with, which the ledger of an old backup may not know
 */
export async function findLostHead(
  reader: Reader,
  note: string,
  ownKeys: readonly NoteKey[],
): Promise<LostHead | null> {
  const named = (await findLogKeys(reader)).flatMap((line) => {
    const read = readNoteKey(line);
    return read.kind === "accepted" ? [read.key] : [];
  });
  const opened = openCheckpoint(note, [...named, ...ownKeys]);
  if (opened.kind === "refused") return null;
  const { origin, size, root } = opened.checkpoint;
  const head = await findHead(reader);
  if (origin !== `sealbook/${head.logId}`) return null;
  if (size <= head.size) {
    const hashes = await findSubtreeHashes(reader, subtreesOf({ from: 0, to: size }));
    if (equalBytes(joinSubtrees(hashes), root)) return null;
  }
  return { size, note, logSize: head.size };
}

/**
 * Looks at start for heads that left and are not under the log, and puts what it finds on record: from then on ledger and
 * log take nothing until an administrator signs what happened. One that was accepted is put aside in its folder.
 *
 * @param folders that may hold a head: the one beside the keys, and those that heads are sent to
 */
export async function lookForLostHistory(
  tx: Tx,
  { folders, ownKeys, log }: { folders: readonly string[]; ownKeys: readonly NoteKey[]; log: Logger },
): Promise<void> {
  const { logId } = await findHead(tx);
  for (const folder of folders) {
    let note: string | null;
    try {
      note = await readHeadFile(folder, `sealbook/${logId}`);
    } catch (error) {
      log.warn({ err: error, folder }, "a folder that heads are sent to could not be looked into");
      continue;
    }
    const lost = note === null ? null : await findLostHead(tx, note, ownKeys);
    if (lost === null) continue;
    const [known] = await tx.query<{ accepted: boolean }>(
      "SELECT accepted_entry_id IS NOT NULL AS accepted FROM lost_history WHERE note = $1",
      [lost.note],
    );
    if (known?.accepted) {
      await setHeadFileAside(folder, lost.note);
      continue;
    }
    if (known === undefined) {
      await tx.query(
        "INSERT INTO lost_history (id, size, note, found_size) VALUES ($1, $2, $3, $4) ON CONFLICT (note) DO NOTHING",
        [newId(), lost.size, lost.note, lost.logSize],
      );
    }
    log.error(
      { folder, headSize: lost.size, logSize: lost.logSize },
      "a head that left this database is not under its log: only reading goes on until an administrator signs what happened",
    );
  }
}

/** Whether nothing may enter ledger and log because a lost history waits for its signature. */
export async function isHistoryLost(reader: Reader): Promise<boolean> {
  const [row] = await reader.query<{ lost: boolean }>(
    "SELECT EXISTS (SELECT FROM lost_history WHERE accepted_entry_id IS NULL) AS lost",
  );
  return row?.lost === true;
}
