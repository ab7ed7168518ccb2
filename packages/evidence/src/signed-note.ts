import { fromBase64, toBase64 } from "./base64.ts";
import { concatBytes, toHex, utf8 } from "./bytes.ts";
import { type Refused, refused } from "./checked.ts";
import { ed25519PublicKey, isEd25519Signature, signEd25519 } from "./ed25519.ts";
import { isKeyName, type NoteKey, noteKeyId } from "./note-key.ts";

/** Far more signatures than any note of ours carries; keeps a hostile note from costing hours. */
const mostSignatures = 100;
const signatureLine = /^\u2014 (\S+) (\S+)$/u;

/** A secret key that signs notes. */
export interface NoteSigner {
  readonly name: string;
  /** 32 secret bytes. */
  readonly seed: Uint8Array;
}

/** The public half of a signer. */
export function keyOfSigner({ name, seed }: NoteSigner): NoteKey {
  return { name, kind: 1, publicKey: ed25519PublicKey(seed) };
}

/**
 * A text with a signature line of each signer below it.
 *
 * @param text lines that each end with a newline
 * @throws RangeError if a note cannot carry the text
 * @source C2SP signed-note
 */
export function signNote(text: string, signers: readonly NoteSigner[]): string {
  if (!isNoteText(text))
    throw new RangeError("a note's text ends with a newline and has no control characters");
  const lines = signers.map((signer) => {
    const key = keyOfSigner(signer);
    if (!isKeyName(key.name)) throw new RangeError("a key's name has neither spaces nor plus signs");
    const payload = concatBytes(noteKeyId(key), signEd25519(utf8(text), signer.seed));
    return `\u2014 ${key.name} ${toBase64(payload)}\n`;
  });
  return `${text}\n${lines.join("")}`;
}

/** A signature that was checked; the time is the witness's, where the key is one of a witness. */
export interface CheckedSignature {
  readonly key: NoteKey;
  /** Seconds since 1970, or null for a plain signature. */
  readonly witnessedAt: number | null;
}

export type NoteRefusal = "not-a-note" | "signature-line" | "signature-false" | "no-known-signature";

/**
 * Reads a note and checks the signatures of the keys that are known; those of other keys are passed over.
 *
 * @param note whole text with its signature lines
 * @param keys that the reader trusts
 * @source C2SP signed-note; cosignatures by C2SP tlog-cosignature
 */
export function openNote(
  note: string,
  keys: readonly NoteKey[],
): { kind: "accepted"; text: string; signatures: CheckedSignature[] } | Refused<NoteRefusal> {
  const split = note.lastIndexOf("\n\n");
  const text = note.slice(0, split + 1);
  const signaturePart = note.slice(split + 2);
  if (split < 0 || !isNoteText(text) || !isNoteText(signaturePart)) {
    return refused(
      "not-a-note",
      firstLine(note),
      "text, an empty line, signature lines, no control characters",
    );
  }
  const lines = signaturePart.slice(0, -1).split("\n");
  if (lines.length > mostSignatures) {
    return refused("not-a-note", `${lines.length} signatures`, `at most ${mostSignatures}`);
  }
  const signatures: CheckedSignature[] = [];
  for (const line of lines) {
    const match = signatureLine.exec(line);
    const payload = fromBase64(match?.[2] ?? "");
    if (match?.[1] === undefined || !isKeyName(match[1]) || payload === null || payload.length < 5) {
      return refused("signature-line", line, "\u2014 name base64(key id and signature)");
    }
    const name = match[1];
    const id = toHex(payload.slice(0, 4));
    const key = keys.find((known) => known.name === name && toHex(noteKeyId(known)) === id);
    if (key === undefined) continue;
    const signature = checkSignature(text, payload.slice(4), key);
    if (signature === null) {
      return refused("signature-false", `a signature of ${name}+${id}`, "one over exactly this text");
    }
    signatures.push(signature);
  }
  if (signatures.length === 0) {
    const known = keys.map((key) => `${key.name}+${toHex(noteKeyId(key))}`);
    return refused("no-known-signature", lines.join("; "), `a signature of ${known.join(" or ")}`);
  }
  return { kind: "accepted", text, signatures };
}

function checkSignature(text: string, signature: Uint8Array, key: NoteKey): CheckedSignature | null {
  if (key.kind === 1) {
    return isEd25519Signature(signature, utf8(text), key.publicKey) ? { key, witnessedAt: null } : null;
  }
  if (signature.length !== 72) return null;
  const time = new DataView(signature.buffer, signature.byteOffset).getBigUint64(0);
  const message = utf8(`cosignature/v1\ntime ${time}\n${text}`);
  return isEd25519Signature(signature.slice(8), message, key.publicKey)
    ? { key, witnessedAt: Number(time) }
    : null;
}

/** Well-formed Unicode, ends with a newline, no other ASCII control character. */
function isNoteText(text: string): boolean {
  // biome-ignore lint/suspicious/noControlCharactersInRegex: control characters are what is looked for.
  return text.isWellFormed() && text.endsWith("\n") && !/[\u0000-\u0009\u000b-\u001f]/.test(text);
}

function firstLine(text: string): string {
  return text.slice(0, 80).split("\n")[0] ?? "";
}
