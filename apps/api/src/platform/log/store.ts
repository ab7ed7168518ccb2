import type { LedgerEntry } from "@sealbook/evidence/ledger-entry";
import type { Tx } from "../transaction.ts";

/** The head of the log as it stands in the database. */
export interface LogHead {
  readonly logId: string;
  readonly size: number;
  readonly root: Uint8Array;
}

/** A leaf with the hashes of the subtrees that it completes, smallest first. */
export interface Leaf {
  readonly index: number;
  readonly entryId: string;
  readonly hash: Uint8Array;
  readonly completed: readonly Uint8Array[];
}

/** A signed head as it was handed out. */
export interface SignedHead {
  readonly size: number;
  readonly note: string;
  readonly at: Date;
}

/** What reads the log: a transaction, or anything else that answers queries with rows. */
export type Reader = Pick<Tx, "query">;

/**
 * Takes the right to sequence until the end of the transaction; false while somebody else has it. Advisory locks are
 * the database's own, so there is one sequencer a database.
 */
export async function tryToSequence(tx: Tx): Promise<boolean> {
  const [row] = await tx.query<{ taken: boolean }>(
    "SELECT pg_try_advisory_xact_lock(hashtext('sealbook log sequencer')) AS taken",
  );
  return row?.taken === true;
}

export async function findHead(reader: Reader): Promise<LogHead> {
  const [row] = await reader.query<{ logId: string; size: string; root: Buffer }>(
    `SELECT log_id AS "logId", size, root FROM log_head`,
  );
  if (row === undefined) throw new Error("the log has no head: its row was removed from the database");
  return { logId: row.logId, size: Number(row.size), root: new Uint8Array(row.root) };
}

/** Moves the head, if it still stands where the caller saw it. */
export async function swapHead(
  tx: Tx,
  from: LogHead,
  to: { size: number; root: Uint8Array },
): Promise<boolean> {
  const moved = await tx.query(
    "UPDATE log_head SET size = $1, root = $2 WHERE size = $3 AND root = $4 RETURNING size",
    [to.size, Buffer.from(to.root), from.size, Buffer.from(from.root)],
  );
  return moved.length === 1;
}

/** Committed entries that wait for their leaf, in order of their ids. */
export async function findWaiting(tx: Tx, limit: number): Promise<LedgerEntry[]> {
  const rows = await tx.query<EntryRow>(
    `SELECT ${entryColumns} FROM log_pending p JOIN ledger_entry e ON e.id = p.entry_id ORDER BY p.entry_id LIMIT $1`,
    [limit],
  );
  return rows.map(toEntry);
}

/** Adds leaves; with each, its entry leaves the queue. */
export async function insertLeaves(tx: Tx, leaves: readonly Leaf[]): Promise<void> {
  await tx.query(
    `INSERT INTO log_leaf (leaf_index, entry_id, hash, completed)
     SELECT * FROM unnest($1::bigint[], $2::uuid[], $3::bytea[], $4::bytea[])`,
    [
      leaves.map(({ index }) => index),
      leaves.map(({ entryId }) => entryId),
      leaves.map(({ hash }) => Buffer.from(hash)),
      leaves.map(({ completed }) => Buffer.concat(completed)),
    ],
  );
}

/**
 * Hashes of complete subtrees, in the order asked for. The hash of a subtree stands beside the leaf that completed it.
 *
 * @param subtrees level (2 to that power leaves) and place among those of its level
 */
export async function findSubtreeHashes(
  reader: Reader,
  subtrees: readonly { level: number; place: number }[],
): Promise<Uint8Array[]> {
  const rows = await reader.query<{ hash: Buffer | null }>(
    `SELECT CASE wanted.level WHEN 0 THEN l.hash ELSE substr(l.completed, (wanted.level - 1) * 32 + 1, 32) END AS hash
     FROM unnest($1::bigint[], $2::int[]) WITH ORDINALITY AS wanted (last_leaf, level, ordinal)
     LEFT JOIN log_leaf l ON l.leaf_index = wanted.last_leaf
     ORDER BY wanted.ordinal`,
    [subtrees.map(({ level, place }) => (place + 1) * 2 ** level - 1), subtrees.map(({ level }) => level)],
  );
  return rows.map(({ hash }) => {
    if (hash?.length !== 32) throw new Error("a leaf of the log is missing or damaged");
    return new Uint8Array(hash);
  });
}

/** Index and hash of an entry's leaf; null while it waits. */
export async function findLeaf(
  reader: Reader,
  entryId: string,
): Promise<{ index: number; hash: Uint8Array } | null> {
  const [row] = await reader.query<{ index: string; hash: Buffer }>(
    "SELECT leaf_index AS index, hash FROM log_leaf WHERE entry_id = $1",
    [entryId],
  );
  return row === undefined ? null : { index: Number(row.index), hash: new Uint8Array(row.hash) };
}

export async function findNewestCheckpoint(reader: Reader): Promise<SignedHead | null> {
  const [row] = await reader.query<{ size: string; note: string; at: Date }>(
    "SELECT size, note, at FROM log_checkpoint ORDER BY size DESC LIMIT 1",
  );
  return row === undefined ? null : { ...row, size: Number(row.size) };
}

/** Adds a signed head; one of the same size stays as it is. */
export async function insertCheckpoint(
  tx: Tx,
  head: { size: number; root: Uint8Array },
  note: string,
): Promise<void> {
  await tx.query(
    "INSERT INTO log_checkpoint (size, root, note) VALUES ($1, $2, $3) ON CONFLICT (size) DO NOTHING",
    [head.size, Buffer.from(head.root), note],
  );
}

/** The public key that the ledger says the log's heads are signed with now; null before the first start. */
export async function findLogKey(reader: Reader): Promise<string | null> {
  const [row] = await reader.query<{ key: string }>(
    "SELECT payload::json ->> 'key' AS key FROM ledger_entry WHERE action = 'logKey.use' ORDER BY id DESC LIMIT 1",
  );
  return row?.key ?? null;
}

/** Keeps the head from moving until the end of the transaction. */
export async function holdHead(tx: Tx): Promise<LogHead> {
  await tx.query("SELECT 1 FROM log_head FOR SHARE");
  return await findHead(tx);
}

interface EntryRow {
  id: string;
  at: Date;
  actorId: string | null;
  action: string;
  subjectType: string;
  subjectId: string;
  reason: string | null;
  payload: string;
}

/** Columns of an entry "e" as they are hashed. */
export const entryColumns = `e.id, e.at, e.actor_id AS "actorId", e.action, e.subject_type AS "subjectType",
  e.subject_id AS "subjectId", e.reason, e.payload`;

/** An entry as it is hashed: its time to the millisecond in UTC. */
export function toEntry(row: EntryRow): LedgerEntry {
  return {
    id: row.id,
    at: row.at.toISOString(),
    actorId: row.actorId,
    action: row.action,
    subjectType: row.subjectType,
    subjectId: row.subjectId,
    reason: row.reason,
    payload: row.payload,
  };
}

/** A leaf beside the entry it is of; null when the entry is gone. */
export interface CheckedLeaf {
  readonly index: number;
  readonly entryId: string;
  readonly hash: Uint8Array;
  readonly completed: Uint8Array;
  readonly entry: LedgerEntry | null;
}

/** Leaves from an index on with their entries, in order. */
export async function findLeavesFrom(reader: Reader, index: number, limit: number): Promise<CheckedLeaf[]> {
  const rows = await reader.query<
    { [Column in keyof EntryRow]: EntryRow[Column] | null } & {
      index: string;
      entryId: string;
      hash: Buffer;
      completed: Buffer;
    }
  >(
    `SELECT l.leaf_index AS index, l.entry_id AS "entryId", l.hash, l.completed, ${entryColumns}
     FROM log_leaf l LEFT JOIN ledger_entry e ON e.id = l.entry_id
     WHERE l.leaf_index >= $1 ORDER BY l.leaf_index LIMIT $2`,
    [index, limit],
  );
  return rows.map((row) => ({
    index: Number(row.index),
    entryId: row.entryId,
    hash: row.hash,
    completed: row.completed,
    entry: row.id === null ? null : toEntry(row as EntryRow),
  }));
}

/** Sizes and roots of all signed heads, smallest first. */
export async function findCheckpoints(reader: Reader): Promise<{ size: number; root: Uint8Array }[]> {
  const rows = await reader.query<{ size: string; root: Buffer }>(
    "SELECT size, root FROM log_checkpoint ORDER BY size",
  );
  return rows.map(({ size, root }) => ({ size: Number(size), root }));
}

/** The signed head of a size as it was handed out; null when there is none. */
export async function findCheckpointNote(reader: Reader, size: number): Promise<string | null> {
  const [row] = await reader.query<{ note: string }>("SELECT note FROM log_checkpoint WHERE size = $1", [
    size,
  ]);
  return row?.note ?? null;
}

/** Every public key that the ledger names as the log's, oldest first. */
export async function findLogKeys(reader: Reader): Promise<string[]> {
  const rows = await reader.query<{ key: string | null }>(
    "SELECT payload::json ->> 'key' AS key FROM ledger_entry WHERE action = 'logKey.use' ORDER BY id",
  );
  return rows.flatMap(({ key }) => (key === null ? [] : [key]));
}

export async function findEntriesWithoutLeaf(
  reader: Reader,
): Promise<{ id: string; action: string; isWaiting: boolean }[]> {
  return await reader.query(
    `SELECT e.id, e.action, p.entry_id IS NOT NULL AS "isWaiting"
     FROM ledger_entry e LEFT JOIN log_pending p ON p.entry_id = e.id
     WHERE NOT EXISTS (SELECT FROM log_leaf l WHERE l.entry_id = e.id) ORDER BY e.id`,
  );
}

export async function findWaitingWithoutEntry(reader: Reader): Promise<string[]> {
  const rows = await reader.query<{ id: string }>(
    `SELECT entry_id AS id FROM log_pending p
     WHERE NOT EXISTS (SELECT FROM ledger_entry e WHERE e.id = p.entry_id) ORDER BY entry_id`,
  );
  return rows.map(({ id }) => id);
}
