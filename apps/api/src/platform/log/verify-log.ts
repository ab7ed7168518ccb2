import { concatBytes, equalBytes, toHex } from "@sealbook/evidence/bytes";
import { type Checkpoint, openCheckpoint } from "@sealbook/evidence/checkpoint";
import { appendLeaf, joinSubtrees, type Subtree } from "@sealbook/evidence/frontier";
import { logLeafHash } from "@sealbook/evidence/log-leaf";
import { loggedRows, type RowLine } from "@sealbook/evidence/logged-rows";
import { type NoteKey, readNoteKey } from "@sealbook/evidence/note-key";
import type { Finding } from "./finding.ts";
import {
  type CheckedLeaf,
  findCheckpointNote,
  findCheckpoints,
  findEntriesWithoutLeaf,
  findEntryAcceptingLossOf,
  findHead,
  findLeavesFrom,
  findLogKeys,
  findRowLines,
  findWaitingWithoutEntry,
  type Reader,
} from "./store.ts";

export interface Verified {
  readonly findings: readonly Finding[];
  /** Leaves that were held against their entries. */
  readonly leaves: number;
  /** Entries that were committed moments ago and wait for their leaf. */
  readonly waiting: number;
  /** Size of the newest head signed by a key of the log; null when there is none. */
  readonly signedSize: number | null;
  /** Size of the head held outside, where it agrees. */
  readonly outsideSize: number | null;
}

/** A head that somebody kept outside, and the keys that they hold for it. */
export interface OutsideHead {
  readonly note: string;
  /** Empty means: trust the keys that the ledger itself names. */
  readonly keys: readonly NoteKey[];
}

const pageSize = 5000;

/** A head that the leaves have to give at its size. */
interface ExpectedHead {
  readonly size: number;
  readonly root: Uint8Array;
  readonly source: "stored" | "signed" | "outside";
}

/**
 * Holds every leaf against its entry, the tree against its head and against every head that was signed, and, where
 * somebody kept one, against a head held outside.
 *
 * @param reader one transaction that sees one state of the database throughout
 */
export async function verifyLog(reader: Reader, outside: OutsideHead | null = null): Promise<Verified> {
  const findings: Finding[] = [];
  const logKeys = (await findLogKeys(reader)).flatMap((line) => {
    const read = readNoteKey(line);
    return read.kind === "accepted" ? [read.key] : [];
  });
  const head = await findHead(reader);
  const signed = await findCheckpoints(reader);
  const expected: ExpectedHead[] = [
    { ...head, source: "stored" },
    ...signed.map((one): ExpectedHead => ({ ...one, source: "signed" })),
  ];
  let outsideCheckpoint: Checkpoint | null = null;
  if (outside !== null) {
    const opened = openCheckpoint(outside.note, outside.keys.length > 0 ? outside.keys : logKeys);
    if (opened.kind === "accepted") {
      outsideCheckpoint = opened.checkpoint;
      expected.push({ ...opened.checkpoint, source: "outside" });
    } else {
      findings.push({
        name: "outside-head-refused",
        sentence: `The head held outside is refused (${opened.refusal}): got ${opened.got}, want ${opened.want}.`,
      });
    }
  }
  const falselySigned = new Set<number>();
  const isTrue = async (size: number): Promise<boolean> => {
    const note = (await findCheckpointNote(reader, size)) ?? "";
    const is = openCheckpoint(note, logKeys).kind === "accepted";
    if (!is) falselySigned.add(size);
    return is;
  };
  const newest = signed.at(-1);
  const isNewestTrue = newest !== undefined && (await isTrue(newest.size));

  const tree = await checkLeaves(reader, expected, findings);
  const acceptedBy = outside === null ? null : await findEntryAcceptingLossOf(reader, outside.note);
  await checkHeads({ expected, tree, isTrue, acceptedBy, findings });
  for (const size of falselySigned) {
    findings.push({
      name: "signature-false",
      sentence: `The signed head of size ${size} does not carry a true signature of a key that the ledger names.`,
    });
  }

  const withoutLeaf = await findEntriesWithoutLeaf(reader);
  for (const { id, action } of withoutLeaf.filter(({ isWaiting }) => !isWaiting)) {
    findings.push({
      name: "entry-without-leaf",
      sentence: `Entry ${id} (${action}) has no leaf and does not wait for one: it was slipped in, or its leaf taken away.`,
    });
  }
  for (const id of await findWaitingWithoutEntry(reader)) {
    findings.push({
      name: "waiting-entry-removed",
      sentence: `Entry ${id} waited for its leaf and is gone.`,
    });
  }
  const doubted = findings.some(({ name }) => name.startsWith("outside-head"));
  return {
    findings,
    leaves: tree.leaves,
    waiting: withoutLeaf.filter(({ isWaiting }) => isWaiting).length,
    signedSize: isNewestTrue ? newest.size : null,
    outsideSize: outsideCheckpoint !== null && !doubted ? outsideCheckpoint.size : null,
  };
}

interface Tree {
  readonly leaves: number;
  /** Leaves from 0 without a gap. */
  readonly whole: number;
  /** Roots at the sizes asked for, as the leaves give them. */
  readonly roots: ReadonlyMap<number, Uint8Array>;
}

/** Walks all leaves in order; takes the root at each expected size. */
async function checkLeaves(
  reader: Reader,
  expected: readonly ExpectedHead[],
  findings: Finding[],
): Promise<Tree> {
  const sizes = new Set(expected.map(({ size }) => size));
  const roots = new Map<number, Uint8Array>([[0, joinSubtrees([])]]);
  const frontier: Subtree[] = [];
  let leaves = 0;
  let next = 0;
  let whole: number | null = null;
  let newFormatFrom: number | null = null;
  let page = await findPage(reader, 0);
  while (page.leaves.length > 0) {
    // The database looks the next leaves up while these are checked.
    const following = findPage(reader, (page.leaves.at(-1)?.index ?? 0) + 1);
    for (const leaf of page.leaves) {
      leaves += 1;
      if (leaf.index !== next) {
        findings.push({
          name: "leaf-missing",
          sentence: `${leaf.index === next + 1 ? `Leaf ${next} is` : `Leaves ${next} to ${leaf.index - 1} are`} missing.`,
        });
        whole ??= next;
      }
      next = leaf.index + 1;
      checkEntry(leaf, page.lines.get(leaf.entryId) ?? [], findings);
      if (leaf.format === 2) newFormatFrom ??= leaf.index;
      else if (newFormatFrom !== null) {
        findings.push({
          name: "older-format",
          sentence: `Leaf ${leaf.index} leaves the rows of its entry out, though leaves from ${newFormatFrom} on hold them.`,
        });
      }
      if (whole !== null) continue;
      if (!equalBytes(concatBytes(...appendLeaf(frontier, leaf.hash)), leaf.completed)) {
        findings.push({
          name: "subtree-differs",
          sentence: `The hashes kept beside leaf ${leaf.index} are not those of the leaves before it.`,
        });
      }
      if (sizes.has(next)) roots.set(next, joinSubtrees(frontier.map(({ hash }) => hash)));
    }
    page = await following;
  }
  return { leaves, whole: whole ?? next, roots };
}

interface Page {
  readonly leaves: readonly CheckedLeaf[];
  /** Lines of rows by entry. */
  readonly lines: ReadonlyMap<string, readonly RowLine[]>;
}

async function findPage(reader: Reader, from: number): Promise<Page> {
  const leaves = await findLeavesFrom(reader, from, pageSize);
  const lines = await findRowLines(
    reader,
    leaves.map(({ entryId }) => entryId),
  );
  return { leaves, lines };
}

function checkEntry(leaf: CheckedLeaf, lines: readonly RowLine[], findings: Finding[]): void {
  if (leaf.entry === null) {
    findings.push({
      name: "leaf-without-entry",
      sentence: `Leaf ${leaf.index} is of entry ${leaf.entryId}, which is gone.`,
    });
  } else if (!equalBytes(logLeafHash(leaf.entry, leaf.format === 1 ? null : loggedRows(lines)), leaf.hash)) {
    findings.push({
      name: "entry-changed",
      sentence: `Entry ${leaf.entryId} (${leaf.entry.action}, ${leaf.entry.at}), leaf ${leaf.index}, is not what was logged: the entry, the hashes of its rows, or the leaf was changed.`,
    });
  }
}

/**
 * Holds what the leaves give against the heads. The first truly signed head that disagrees narrows down where the
 * change lies; every later one disagrees with it, so it is not said again.
 */
async function checkHeads({
  expected,
  tree,
  isTrue,
  acceptedBy,
  findings,
}: {
  expected: readonly ExpectedHead[];
  tree: Tree;
  isTrue: (size: number) => Promise<boolean>;
  /** Entry by which an administrator signed that the history of the head held outside is lost. */
  acceptedBy: string | null;
  findings: Finding[];
}): Promise<void> {
  const agrees = ({ size, root }: ExpectedHead): boolean => {
    const computed = tree.roots.get(size);
    return computed !== undefined && toHex(computed) === toHex(root);
  };
  let lastAgreed = 0;
  for (const one of expected) {
    if (one.source !== "stored" && agrees(one)) lastAgreed = Math.max(lastAgreed, one.size);
  }
  let isSaid = false;
  for (const one of expected) {
    if (one.source === "stored") {
      if (agrees(one) && one.size === tree.leaves) continue;
      findings.push({
        name: "head-differs",
        sentence: `The head of size ${one.size} is not that of the ${tree.leaves} leaves on record.`,
      });
    } else if (!agrees(one) && one.source === "outside") {
      const { name, sentence } = disagreement(one, tree, lastAgreed);
      const signed =
        acceptedBy === null
          ? ""
          : ` That its history is lost was signed by an administrator: entry ${acceptedBy} says why.`;
      findings.push({ name, sentence: sentence + signed });
    } else if (!agrees(one) && !isSaid && (await isTrue(one.size))) {
      findings.push(disagreement(one, tree, lastAgreed));
      isSaid = true;
    }
  }
}

function disagreement({ size, source }: ExpectedHead, tree: Tree, lastAgreed: number): Finding {
  const whose = source === "outside" ? "The head held outside" : "The signed head";
  if (size > tree.whole) {
    return {
      name: source === "outside" ? "outside-head-ahead" : "signed-head-differs",
      sentence: `${whose} holds ${size} entries, the log ${tree.whole} without a gap: entries from leaf ${tree.whole} on were removed, or an older backup was put back.`,
    };
  }
  const from = lastAgreed < size ? lastAgreed : 0;
  return {
    name: source === "outside" ? "outside-head-differs" : "signed-head-differs",
    sentence: `${whose} of size ${size} is not that of the log: among leaves ${from} to ${size - 1} one was changed, removed, added or moved since it was signed.`,
  };
}
