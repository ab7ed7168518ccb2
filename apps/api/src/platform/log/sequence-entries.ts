import { setImmediate } from "node:timers/promises";
import { toHex } from "@sealbook/evidence/bytes";
import { appendLeaf, joinSubtrees, type Subtree } from "@sealbook/evidence/frontier";
import { logLeafHash } from "@sealbook/evidence/log-leaf";
import { loggedRows } from "@sealbook/evidence/logged-rows";
import { subtreesOf } from "@sealbook/evidence/proof-ranges";
import type { Tx } from "../transaction.ts";
import { isHistoryLost } from "./lost-history.ts";
import {
  findHead,
  findRowLines,
  findSubtreeHashes,
  findWaiting,
  insertLeaves,
  type Leaf,
  swapHead,
  tryToSequence,
} from "./store.ts";

/** Entries moved in one transaction, at most. */
export const batchSize = 1000;

/** Rows hashed without a pause, at least: some ten milliseconds of work. */
const rowsInOneGo = 5_000;

/**
 * Moves entries that wait into the log, as the next leaves in the order of their ids, and the head with them. All of it
 * happens in the caller's transaction or not at all.
 *
 * @returns how many were moved; 0 when none waits, another process is at it, or a history is lost
 * @throws Error if the stored leaves do not give the stored head, or the head moved meanwhile; nothing is then written
 */
export async function sequenceEntries(tx: Tx, limit = batchSize): Promise<number> {
  if (!(await tryToSequence(tx)) || (await isHistoryLost(tx))) return 0;
  const head = await findHead(tx);
  const entries = await findWaiting(tx, limit);
  if (entries.length === 0) return 0;

  const subtrees = subtreesOf({ from: 0, to: head.size });
  const hashes = await findSubtreeHashes(tx, subtrees);
  if (toHex(joinSubtrees(hashes)) !== toHex(head.root)) {
    throw new Error(`the leaves of the log do not give its head of size ${head.size}: verify the database`);
  }
  const frontier: Subtree[] = hashes.map((hash, at) => ({ size: 2 ** (subtrees[at]?.level ?? 0), hash }));
  const lines = await findRowLines(
    tx,
    entries.map(({ id }) => id),
  );
  const leaves: Leaf[] = [];
  let rowsSince = 0;
  for (const [at, entry] of entries.entries()) {
    const rows = loggedRows(lines.get(entry.id) ?? []);
    const hash = logLeafHash(entry, rows);
    leaves.push({ index: head.size + at, entryId: entry.id, hash, completed: appendLeaf(frontier, hash) });
    rowsSince += rows.count;
    if (rowsSince < rowsInOneGo) continue;
    rowsSince = 0;
    // Whoever waits for an answer of this process gets it between two entries.
    await setImmediate();
  }
  await insertLeaves(tx, leaves);
  const grown = {
    size: head.size + leaves.length,
    root: joinSubtrees(frontier.map(({ hash }) => hash)),
  };
  if (!(await swapHead(tx, head, grown))) throw new Error("another process moved the head of the log");
  return leaves.length;
}
