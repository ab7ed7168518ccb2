import type { EntryProof, LogHead } from "@sealbook/contract/ledger";
import { toHex, utf8 } from "@sealbook/evidence/bytes";
import { type Checkpoint, readCheckpointText } from "@sealbook/evidence/checkpoint";
import { logLeafText } from "@sealbook/evidence/log-leaf";
import { loggedRows } from "@sealbook/evidence/logged-rows";
import { consistencyRanges, inclusionRanges } from "@sealbook/evidence/proof-ranges";
import { writeTlogProof } from "@sealbook/evidence/tlog-proof";
import type { Database } from "../../platform/database.ts";
import { findRangeHashes } from "../../platform/log/find-range-hashes.ts";
import type { LogSigner } from "../../platform/log/log-signer.ts";
import { signHead } from "../../platform/log/sign-head.ts";
import {
  findHead,
  findLeaf,
  findLogKey,
  findNewestCheckpoint,
  findRowLines,
  type Reader,
  type SignedHead,
} from "../../platform/log/store.ts";
import { notFound, ProblemError, refusedByRule } from "../../platform/problem-error.ts";

declare module "fastify" {
  interface FastifyInstance {
    logSigner: LogSigner | null;
  }
}

/** The newest signed head; signed now where this process holds the key. */
export async function getLogHead(database: Database, signer: LogSigner | null): Promise<LogHead> {
  const reader = readerOf(database);
  const signed = await newestHead(database, reader, signer);
  const key = await findLogKey(reader);
  if (signed === null || key === null) throw notFound("signed head of the log yet");
  const { origin, size, root } = checkpointIn(signed);
  return { origin, key, size, root: toHex(root), at: signed.at.toISOString(), note: signed.note };
}

/** Proof that an entry stands under the newest signed head. */
export async function getEntryProof(
  database: Database,
  signer: LogSigner | null,
  entryId: string,
): Promise<EntryProof> {
  const reader = readerOf(database);
  const leaf = await findLeaf(reader, entryId);
  const signed = leaf === null ? null : await headOver(leaf.index, database, reader, signer);
  if (leaf === null || signed === null) {
    throw new ProblemError(
      "not-found",
      "No signed head holds an entry of this id yet: a new entry takes its place in the log within a second, and " +
        "its head is signed within ten more.",
    );
  }
  const { size, root } = checkpointIn(signed);
  const proof = await findRangeHashes(reader, inclusionRanges(leaf.index, size));
  const lines = (await findRowLines(reader, [entryId])).get(entryId) ?? [];
  const rows = leaf.format === 1 ? null : loggedRows(lines);
  return {
    index: leaf.index,
    leafHash: toHex(leaf.hash),
    rows,
    size,
    root: toHex(root),
    hashes: proof.map(toHex),
    file: writeTlogProof({
      index: leaf.index,
      proof,
      checkpoint: signed.note,
      extra: utf8(logLeafText(leaf.entry, rows)),
    }),
  };
}

/** Proof that the log of the older size is the beginning of the log of the newer one. */
export async function getConsistencyProof(
  database: Database,
  { from, to }: { from: number; to: number },
): Promise<{ from: number; to: number; hashes: string[] }> {
  const reader = readerOf(database);
  const { size } = await findHead(reader);
  if (to > size) throw refusedByRule("to", `The log has ${size} entries; ask for a size up to that.`);
  if (from > to) throw refusedByRule("from", "The older size is not above the newer one.");
  return { from, to, hashes: (await findRangeHashes(reader, consistencyRanges(from, to))).map(toHex) };
}

async function newestHead(
  database: Database,
  reader: Reader,
  signer: LogSigner | null,
): Promise<SignedHead | null> {
  return signer === null
    ? await findNewestCheckpoint(reader)
    : await signHead(database.pool, signer, { isAskedFor: true });
}

/** The newest signed head if it holds a leaf; a new one is signed only where none does. */
async function headOver(
  index: number,
  database: Database,
  reader: Reader,
  signer: LogSigner | null,
): Promise<SignedHead | null> {
  const newest = await findNewestCheckpoint(reader);
  const head = newest !== null && newest.size > index ? newest : await newestHead(database, reader, signer);
  return head !== null && head.size > index ? head : null;
}

/** What a signed head of our own says. */
function checkpointIn({ note }: SignedHead): Checkpoint {
  const read = readCheckpointText(note.slice(0, note.lastIndexOf("\n\n") + 1));
  if (read.kind === "refused") throw new Error(`a signed head on record is none: ${read.got}`);
  return read.checkpoint;
}

function readerOf({ pool }: Database): Reader {
  return { query: async (sql, values) => (await pool.query(sql, values)).rows };
}
