import { fromBase64, toBase64 } from "./base64.ts";
import type { TreeHead } from "./check-consistency-proof.ts";
import { type Refused, refused } from "./checked.ts";
import { isKeyName, type NoteKey } from "./note-key.ts";
import {
  type CheckedSignature,
  type NoteRefusal,
  type NoteSigner,
  openNote,
  signNote,
} from "./signed-note.ts";

/** A tree head and the log that it is of. */
export interface Checkpoint extends TreeHead {
  /** Name of the log, which is the name of its key, too. */
  readonly origin: string;
}

/**
 * A signed tree head as it is handed out.
 *
 * @param further signers beside the first, such as the key that it takes over from; of the same name
 * @throws RangeError if the origin cannot be the name of a key
 * @source C2SP tlog-checkpoint
 */
export function writeCheckpoint(
  { size, root }: TreeHead,
  signer: NoteSigner,
  further: readonly NoteSigner[] = [],
): string {
  if (!isKeyName(signer.name)) throw new RangeError("a log's name has neither spaces nor plus signs");
  return signNote(`${signer.name}\n${size}\n${toBase64(root)}\n`, [signer, ...further]);
}

export type CheckpointRefusal = NoteRefusal | "not-a-checkpoint" | "origin-differs" | "not-signed-by-log";

/**
 * Reads a signed tree head and checks that the log itself signed it.
 *
 * @param note  as handed out
 * @param logKeys keys of the log, all of one name, which is its origin
 * @param witnessKeys further keys whose signatures are wanted in the answer
 * @source C2SP tlog-checkpoint
 */
export function openCheckpoint(
  note: string,
  logKeys: readonly NoteKey[],
  witnessKeys: readonly NoteKey[] = [],
): { kind: "accepted"; checkpoint: Checkpoint; signatures: CheckedSignature[] } | Refused<CheckpointRefusal> {
  const opened = openNote(note, [...logKeys, ...witnessKeys]);
  if (opened.kind === "refused") return opened;
  const checkpoint = readCheckpointText(opened.text);
  if (checkpoint.kind === "refused") return checkpoint;
  const { origin } = checkpoint.checkpoint;
  if (!logKeys.some(({ name }) => name === origin)) {
    const names = [...new Set(logKeys.map(({ name }) => name))];
    return refused("origin-differs", origin, names.join(" or "));
  }
  if (!opened.signatures.some(({ key }) => logKeys.includes(key) && key.name === origin)) {
    return refused("not-signed-by-log", opened.signatures.map(({ key }) => key.name).join(", "), origin);
  }
  return { kind: "accepted", checkpoint: checkpoint.checkpoint, signatures: opened.signatures };
}

/** Reads the text of a checkpoint, whose signatures somebody else has checked. @source C2SP tlog-checkpoint */
export function readCheckpointText(
  text: string,
): { kind: "accepted"; checkpoint: Checkpoint } | Refused<"not-a-checkpoint"> {
  const [origin = "", sizeText = "", rootText = "", ...rest] = text.split("\n");
  const extensions = rest.slice(0, -1);
  const size = /^(0|[1-9][0-9]{0,15})$/.test(sizeText) ? Number(sizeText) : Number.NaN;
  const root = fromBase64(rootText);
  const isWhole = origin !== "" && rest.at(-1) === "" && !extensions.includes("");
  if (!isWhole || !Number.isSafeInteger(size) || root?.length !== 32) {
    return refused(
      "not-a-checkpoint",
      text.split("\n").slice(0, 3).join(" / "),
      "origin / size / base64 of a 32-byte root",
    );
  }
  return { kind: "accepted", checkpoint: { origin, size, root } };
}
