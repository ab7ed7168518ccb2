import { equalBytes, fromHex, toHex } from "./bytes.ts";
import { canonicalJson } from "./canonical-json.ts";
import { type Checkpoint, openCheckpoint } from "./checkpoint.ts";
import { appendLeaf, joinSubtrees, type Subtree } from "./frontier.ts";
import type { LedgerEntry } from "./ledger-entry.ts";
import { logLeafHash } from "./log-leaf.ts";
import type { LoggedRows } from "./logged-rows.ts";
import { type NoteKey, readNoteKey } from "./note-key.ts";

/** First line of an export: whose log it is, and the keys that its ledger names. */
export interface ExportHeading {
  readonly origin: string;
  /** Public keys as C2SP signed-note writes them. */
  readonly keys: readonly string[];
}

/** An entry with its leaf. */
export interface ExportedLeaf {
  readonly index: number;
  readonly entry: LedgerEntry;
  /** What the entry wrote; null of a leaf from before rows stood in the log. */
  readonly rows: LoggedRows | null;
  /** Leaf hash on record, hexadecimal: tells which entry was changed. */
  readonly leaf: string;
}

/*
 * An export of the log is a text of lines, each of them canonical JSON (RFC 8785) and ended by a line feed: the heading,
 * then every leaf in order, and behind the last leaf under each signed head that head.
 */

export function exportHeadingLine({ origin, keys }: ExportHeading): string {
  return `${canonicalJson({ format: 1, keys, origin })}\n`;
}

export function exportLeafLine({ index, entry, rows, leaf }: ExportedLeaf): string {
  return `${canonicalJson({ entry: { ...entry }, index, leaf, rows: rows === null ? null : { ...rows } })}\n`;
}

/** @param note signed head over all leaves before it, C2SP tlog-checkpoint */
export function exportHeadLine(note: string): string {
  return `${canonicalJson({ head: note })}\n`;
}

export interface ExportFinding {
  readonly name:
    | "unreadable-line"
    | "leaf-missing"
    | "entry-changed"
    | "older-format"
    | "head-refused"
    | "signed-head-differs"
    | "no-head-at-end"
    | "outside-head-refused"
    | "outside-head-ahead"
    | "outside-head-differs";
  readonly sentence: string;
}

export interface CheckedExport {
  readonly findings: readonly ExportFinding[];
  readonly origin: string | null;
  /** Leaves that were read. */
  readonly leaves: number;
  /** The last signed head that the leaves lead to; null when there is none. */
  readonly head: Checkpoint | null;
  /** Size of the head held outside, where it agrees. */
  readonly outsideSize: number | null;
}

/** Findings that are told one by one; a bent export can have one a line. */
const mostFindings = 200;

/**
 * Checks an export of a log with nothing but the export, and with a head and keys that were kept elsewhere, if there are
 * any: each entry against its leaf, the leaves against every signed head, the heads against their signatures.
 *
 * @param lines   of the export, without their line feeds
 * @param trusted keys of the log got from elsewhere; none means that those in the export are believed
 * @param outside a signed head of the log that was kept elsewhere
 */
export async function checkLogExport(
  lines: Iterable<string> | AsyncIterable<string>,
  { trusted = [], outside = null }: { trusted?: readonly NoteKey[]; outside?: string | null } = {},
): Promise<CheckedExport> {
  const findings: ExportFinding[] = [];
  const tell = (name: ExportFinding["name"], sentence: string): void => {
    if (findings.length < mostFindings) findings.push({ name, sentence });
  };
  let heading: ExportHeading | null = null;
  let keys: readonly NoteKey[] = trusted;
  let held: Checkpoint | null = null;
  let heldRoot: Uint8Array | null = null;
  const frontier: Subtree[] = [];
  const root = (): Uint8Array => joinSubtrees(frontier.map(({ hash }) => hash));
  let size = 0;
  let head: Checkpoint | null = null;
  let isHeadLast = false;
  let isBent = false;
  let agreedUpTo = 0;
  let newFormatFrom: number | null = null;
  let number = 0;
  for await (const line of lines) {
    number += 1;
    if (line === "") continue;
    const read = readLine(line);
    if (heading === null) {
      if (read?.kind !== "heading") {
        tell("unreadable-line", "The first line is not the heading of an export.");
        break;
      }
      heading = read.heading;
      if (keys.length === 0) keys = keysIn(heading.keys);
      const opened = outside === null ? null : openCheckpoint(outside, keys);
      if (opened?.kind === "refused") {
        tell(
          "outside-head-refused",
          `The head held outside is refused (${opened.refusal}): got ${opened.got}, want ${opened.want}.`,
        );
      } else if (opened !== null) {
        held = opened.checkpoint;
        if (held.size === 0) heldRoot = root();
      }
      continue;
    }
    if (read === null || read.kind === "heading") {
      tell("unreadable-line", `Line ${number} is neither a leaf nor a head.`);
      isBent = true;
      continue;
    }
    if (read.kind === "head") {
      const opened = openCheckpoint(read.note, keys);
      if (opened.kind === "refused") {
        tell(
          "head-refused",
          `The head in line ${number} is refused (${opened.refusal}): got ${opened.got}, want ${opened.want}.`,
        );
        continue;
      }
      const { checkpoint } = opened;
      if (checkpoint.size === size && equalBytes(checkpoint.root, root())) {
        head = checkpoint;
        agreedUpTo = size;
        isHeadLast = true;
      } else if (!isBent) {
        // Every later head disagrees, too; the first one tells where.
        isBent = true;
        tell(
          "signed-head-differs",
          `The signed head of ${checkpoint.size} entries in line ${number} is not that of the ${size} leaves before it: among leaves ${agreedUpTo} to ${Math.max(size, checkpoint.size) - 1} one was changed, removed, added or moved.`,
        );
      }
      continue;
    }
    const { leaf } = read;
    isHeadLast = false;
    if (leaf.index !== size) {
      tell("leaf-missing", `Line ${number} holds leaf ${leaf.index} where leaf ${size} is wanted.`);
    }
    const hash = logLeafHash(leaf.entry, leaf.rows);
    if (toHex(hash) !== leaf.leaf) {
      tell(
        "entry-changed",
        `Entry ${leaf.entry.id} (${leaf.entry.action}, ${leaf.entry.at}), leaf ${leaf.index}, is not what was logged.`,
      );
    }
    if (leaf.rows !== null) newFormatFrom ??= leaf.index;
    else if (newFormatFrom !== null) {
      tell(
        "older-format",
        `Leaf ${leaf.index} leaves the rows of its entry out, though leaves from ${newFormatFrom} on hold them.`,
      );
    }
    // The leaf on record goes into the tree: whoever changed the entry alone is told apart from who changed both.
    appendLeaf(frontier, fromHex(leaf.leaf));
    size += 1;
    if (held?.size === size) heldRoot = root();
  }
  if (heading !== null && !isHeadLast && !isBent) {
    tell("no-head-at-end", `The last ${size - agreedUpTo} leaves are under no signed head.`);
  }
  let outsideSize: number | null = null;
  if (held !== null && heldRoot === null) {
    tell(
      "outside-head-ahead",
      `The head held outside holds ${held.size} entries, the export ${size}: the rest was removed, or the export is older.`,
    );
  } else if (held !== null && heldRoot !== null) {
    if (equalBytes(held.root, heldRoot)) outsideSize = held.size;
    else {
      tell(
        "outside-head-differs",
        `The head held outside, of ${held.size} entries, is not that of the export: among its first ${held.size} leaves one was changed, removed, added or moved.`,
      );
    }
  }
  return { findings, origin: heading?.origin ?? null, leaves: size, head, outsideSize };
}

type Line =
  | { kind: "heading"; heading: ExportHeading }
  | { kind: "leaf"; leaf: ExportedLeaf }
  | { kind: "head"; note: string };

/** What a line says; null when it is none of an export. */
function readLine(line: string): Line | null {
  let value: unknown;
  try {
    value = JSON.parse(line);
  } catch {
    return null;
  }
  if (!isObject(value)) return null;
  if (value.format === 1 && typeof value.origin === "string" && Array.isArray(value.keys)) {
    return {
      kind: "heading",
      heading: { origin: value.origin, keys: value.keys.filter((key) => typeof key === "string") },
    };
  }
  if (typeof value.head === "string") return { kind: "head", note: value.head };
  const { entry, index, leaf, rows } = value as Record<string, unknown>;
  if (
    !isEntry(entry) ||
    !Number.isSafeInteger(index) ||
    typeof leaf !== "string" ||
    !/^[0-9a-f]{64}$/.test(leaf)
  )
    return null;
  if (rows !== null && !isRows(rows)) return null;
  return { kind: "leaf", leaf: { entry, index: index as number, leaf, rows: rows as LoggedRows | null } };
}

function isObject(value: unknown): value is Record<string, unknown> {
  return typeof value === "object" && value !== null && !Array.isArray(value);
}

function isEntry(value: unknown): value is LedgerEntry {
  if (!isObject(value)) return false;
  const texts = ["id", "at", "action", "subjectType", "subjectId", "payload"];
  const maybe = ["actorId", "reason"];
  return (
    texts.every((name) => isText(value[name])) &&
    maybe.every((name) => value[name] === null || isText(value[name]))
  );
}

function isText(value: unknown): boolean {
  return typeof value === "string" && value.isWellFormed();
}

function isRows(value: unknown): value is LoggedRows {
  return isObject(value) && Number.isSafeInteger(value.count) && /^[0-9a-f]{64}$/.test(String(value.root));
}

function keysIn(lines: readonly string[]): NoteKey[] {
  return lines.flatMap((line) => {
    const read = readNoteKey(line);
    return read.kind === "accepted" ? [read.key] : [];
  });
}
