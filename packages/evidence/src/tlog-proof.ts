import { fromBase64, toBase64 } from "./base64.ts";
import { checkInclusionProof, type InclusionRefusal } from "./check-inclusion-proof.ts";
import { type Refused, refused } from "./checked.ts";
import { type Checkpoint, type CheckpointRefusal, openCheckpoint } from "./checkpoint.ts";
import type { NoteKey } from "./note-key.ts";
import type { CheckedSignature } from "./signed-note.ts";

const heading = "c2sp.org/tlog-proof@v1";
/** A tree of 2^53 leaves has no longer proof. */
const mostHashes = 63;

/** What a proof file holds; only checking says that it is true. */
export interface TlogProof {
  readonly index: number;
  readonly proof: readonly Uint8Array[];
  /** Signed tree head as text. */
  readonly checkpoint: string;
  /** Bytes for whoever makes the leaf's hash themselves; nothing in the proof depends on them. */
  readonly extra?: Uint8Array;
}

/** A file that proves to somebody without network that an entry is in the log. @source C2SP tlog-proof */
export function writeTlogProof({ index, proof, checkpoint, extra }: TlogProof): string {
  const extraLine = extra === undefined ? "" : `extra ${toBase64(extra)}\n`;
  return `${heading}\n${extraLine}index ${index}\n${proof.map((hash) => `${toBase64(hash)}\n`).join("")}\n${checkpoint}`;
}

/** Reads a proof file without checking what it says. @source C2SP tlog-proof */
export function readTlogProof(
  text: string,
): ({ kind: "accepted" } & TlogProof) | Refused<"not-a-proof-file"> {
  const split = text.indexOf("\n\n");
  const [first, ...lines] = text.slice(0, Math.max(split, 0)).split("\n");
  const extra = lines[0]?.startsWith("extra ") ? fromBase64(lines[0].slice(6)) : null;
  if (extra !== null) lines.shift();
  const indexText = /^index (0|[1-9][0-9]{0,15})$/.exec(lines.shift() ?? "")?.[1];
  const proof = lines.map(fromBase64).filter((hash) => hash?.length === 32) as Uint8Array[];
  const index = Number(indexText ?? Number.NaN);
  if (
    first !== heading ||
    !Number.isSafeInteger(index) ||
    proof.length !== lines.length ||
    lines.length > mostHashes
  ) {
    return refused(
      "not-a-proof-file",
      text.slice(0, 80).split("\n").join(" / "),
      `${heading} / index N / hashes`,
    );
  }
  const read = { kind: "accepted" as const, index, proof, checkpoint: text.slice(split + 2) };
  return extra === null ? read : { ...read, extra };
}

export type TlogProofRefusal = "not-a-proof-file" | CheckpointRefusal | InclusionRefusal;

/**
 * Checks a proof file: the log signed the tree head, and the leaf stands in that tree.
 *
 * @param text     of the file
 * @param leafHash of the entry, computed by whoever checks
 * @param logKeys  of the log, got from elsewhere than the file
 */
export function checkTlogProof(
  text: string,
  leafHash: Uint8Array,
  logKeys: readonly NoteKey[],
  witnessKeys: readonly NoteKey[] = [],
):
  | { kind: "accepted"; index: number; checkpoint: Checkpoint; signatures: CheckedSignature[] }
  | Refused<TlogProofRefusal> {
  const read = readTlogProof(text);
  if (read.kind === "refused") return read;
  const opened = openCheckpoint(read.checkpoint, logKeys, witnessKeys);
  if (opened.kind === "refused") return opened;
  const { size, root } = opened.checkpoint;
  const checked = checkInclusionProof({ leafHash, index: read.index, size, proof: read.proof, root });
  if (checked.kind === "refused") return checked;
  return { ...opened, index: read.index };
}
