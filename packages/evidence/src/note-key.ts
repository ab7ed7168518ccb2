import { fromBase64, toBase64 } from "./base64.ts";
import { concatBytes, toHex, utf8 } from "./bytes.ts";
import { type Refused, refused } from "./checked.ts";
import { sha256 } from "./sha256.ts";

/** How a key signs notes: 1 is a log's plain Ed25519 signature, 4 a witness's Ed25519 cosignature with its time. */
export type NoteKeyKind = 1 | 4;

/** A public key that checks signatures of notes. */
export interface NoteKey {
  readonly name: string;
  readonly kind: NoteKeyKind;
  /** 32 bytes. */
  readonly publicKey: Uint8Array;
}

/** First four bytes of SHA-256(name || newline || kind || public key). @source C2SP signed-note */
export function noteKeyId({ name, kind, publicKey }: NoteKey): Uint8Array {
  return sha256(concatBytes(utf8(`${name}\n`), Uint8Array.of(kind), publicKey)).slice(0, 4);
}

/**
 * The key as the line that is published: "name+id+key".
 * @throws RangeError if the name cannot be that of a key
 * @source C2SP signed-note, "vkey"
 * @example "example.com/foo+530d903a+AekyeRrm56hApGFkyQR4ZCbV54Id2LKaANYcrnKv3U2k"
 */
export function writeNoteKey(key: NoteKey): string {
  if (!isKeyName(key.name)) throw new RangeError("a key's name has neither spaces nor plus signs");
  return `${key.name}+${toHex(noteKeyId(key))}+${toBase64(concatBytes(Uint8Array.of(key.kind), key.publicKey))}`;
}

export type NoteKeyRefusal = "not-a-key-line" | "unknown-kind-of-key" | "key-id-differs";

/** Reads a published key line. @source C2SP signed-note, "vkey" */
export function readNoteKey(line: string): { kind: "accepted"; key: NoteKey } | Refused<NoteKeyRefusal> {
  const match = /^([^+]+)\+([0-9a-f]{8})\+(.+)$/.exec(line);
  const name = match?.[1] ?? "";
  const bytes = fromBase64(match?.[3] ?? "");
  if (!isKeyName(name) || bytes === null || bytes.length !== 33) {
    return refused("not-a-key-line", line, "name+id+base64 of kind and 32-byte key");
  }
  const kind = bytes[0];
  if (kind !== 1 && kind !== 4) return refused("unknown-kind-of-key", `kind ${kind}`, "kind 1 or 4");
  const key: NoteKey = { name, kind, publicKey: bytes.slice(1) };
  const id = toHex(noteKeyId(key));
  return id === match?.[2] ? { kind: "accepted", key } : refused("key-id-differs", match?.[2] ?? "", id);
}

/** Whether a text can name a key: not empty, without Unicode spaces, control characters and plus signs. */
export function isKeyName(name: string): boolean {
  return name.isWellFormed() && /^[^\s+\p{Cc}\p{Z}]+$/u.test(name);
}
