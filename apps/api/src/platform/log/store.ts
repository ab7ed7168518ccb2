import type { LedgerEntry } from "@sealbook/evidence/ledger-entry";
import type { RowLine } from "@sealbook/evidence/logged-rows";
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

/** Rows whose hashes are read at once, at most, unless a single entry wrote more: 32 bytes each. */
const rowsAtOnce = 200_000;

/** Committed entries that wait for their leaf, in order of their ids; fewer than asked for where they wrote many rows. */
export async function findWaiting(tx: Tx, limit: number): Promise<LedgerEntry[]> {
  const rows = await tx.query<EntryRow>(
    `SELECT ${entryColumns}
     FROM (
       SELECT p.entry_id, sum(coalesce(l.rows, 0)) OVER (ORDER BY p.entry_id) AS so_far, row_number() OVER (ORDER BY p.entry_id) AS at
       FROM (SELECT entry_id FROM log_pending ORDER BY entry_id LIMIT $1) p
       CROSS JOIN LATERAL (SELECT sum(row_count) AS rows FROM ledger_rows WHERE entry_id = p.entry_id) l
     ) p JOIN ledger_entry e ON e.id = p.entry_id
     WHERE p.so_far <= $2 OR p.at = 1 ORDER BY p.entry_id`,
    [limit, rowsAtOnce],
  );
  return rows.map(toEntry);
}

/** Lines of rows that entries wrote, by entry; an entry that wrote none is left out. */
export async function findRowLines(
  reader: Reader,
  entryIds: readonly string[],
): Promise<Map<string, RowLine[]>> {
  const rows = await reader.query<{ entryId: string; place: string; table: string; hashes: Buffer }>(
    `SELECT entry_id AS "entryId", place, table_name AS "table", hashes
     FROM ledger_rows WHERE entry_id = ANY($1::uuid[]) ORDER BY entry_id, place`,
    [entryIds],
  );
  const lines = new Map<string, RowLine[]>();
  for (const { entryId, place, table, hashes } of rows) {
    const line = { place: Number(place), table, hashes };
    const before = lines.get(entryId);
    if (before === undefined) lines.set(entryId, [line]);
    else before.push(line);
  }
  return lines;
}

/** Adds leaves of format 2; with each, its entry leaves the queue. */
export async function insertLeaves(tx: Tx, leaves: readonly Leaf[]): Promise<void> {
  await tx.query(
    `INSERT INTO log_leaf (leaf_index, entry_id, hash, completed, format)
     SELECT *, 2 FROM unnest($1::bigint[], $2::uuid[], $3::bytea[], $4::bytea[])`,
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

/** An entry and its leaf; null while it waits. */
export async function findLeaf(
  reader: Reader,
  entryId: string,
): Promise<{ index: number; hash: Uint8Array; format: number; entry: LedgerEntry } | null> {
  const [row] = await reader.query<EntryRow & { index: string; hash: Buffer; format: number }>(
    `SELECT l.leaf_index AS index, l.hash, l.format, ${entryColumns}
     FROM log_leaf l JOIN ledger_entry e ON e.id = l.entry_id WHERE l.entry_id = $1`,
    [entryId],
  );
  if (row === undefined) return null;
  return {
    index: Number(row.index),
    hash: new Uint8Array(row.hash),
    format: row.format,
    entry: toEntry(row),
  };
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
  /** 1 holds the entry alone, 2 its rows, too. */
  readonly format: number;
  readonly entry: LedgerEntry | null;
}

/** Leaves from an index on with their entries, in order; fewer than asked for where they have many rows. */
export async function findLeavesFrom(reader: Reader, index: number, limit: number): Promise<CheckedLeaf[]> {
  const rows = await reader.query<
    { [Column in keyof EntryRow]: EntryRow[Column] | null } & {
      index: string;
      entryId: string;
      hash: Buffer;
      completed: Buffer;
      format: number;
    }
  >(
    `SELECT l.leaf_index AS index, l.entry_id AS "entryId", l.hash, l.completed, l.format, ${entryColumns}
     FROM (
       SELECT l.*, sum(coalesce(r.rows, 0)) OVER inOrder AS so_far, row_number() OVER inOrder AS at
       FROM (SELECT * FROM log_leaf WHERE leaf_index >= $1 ORDER BY leaf_index LIMIT $2) l
       CROSS JOIN LATERAL (SELECT sum(row_count) AS rows FROM ledger_rows WHERE entry_id = l.entry_id) r
       WINDOW inOrder AS (ORDER BY leaf_index)
     ) l LEFT JOIN ledger_entry e ON e.id = l.entry_id
     WHERE l.so_far <= $3 OR l.at = 1 ORDER BY l.leaf_index`,
    [index, limit, rowsAtOnce],
  );
  return rows.map((row) => ({
    index: Number(row.index),
    entryId: row.entryId,
    hash: row.hash,
    completed: row.completed,
    format: row.format,
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

/** The entry that accepts the loss of a head's history; null when there is none. */
export async function findEntryAcceptingLossOf(reader: Reader, note: string): Promise<string | null> {
  const [row] = await reader.query<{ id: string }>(
    `SELECT id FROM ledger_entry
     WHERE action = 'log.acceptHistory' AND payload::json ->> 'lostHead' = $1 ORDER BY id LIMIT 1`,
    [note],
  );
  return row?.id ?? null;
}
