import { type NoteKey, readNoteKey } from "@sealbook/evidence/note-key";

/** A head as documents print it: whoever keeps the paper holds it. */
export interface PrintedHead {
  readonly log: string;
  readonly size: number;
  /** First digits of the root, hexadecimal, at least 32 of them. */
  readonly rootBegins: string;
}

/** What the stranger has from elsewhere: keys of the log, earlier heads. Either says more than a bundle can. */
export interface HeldOutside {
  readonly keys: readonly NoteKey[];
  /** Signed heads, as they were handed out. */
  readonly heads: readonly string[];
  readonly printed: readonly PrintedHead[];
}

export const nothingHeld: HeldOutside = { keys: [], heads: [], printed: [] };

/**
 * Reads what somebody holds, from text pasted together in any order: key lines ("name+id+key"), signed heads, and the line
 * at the foot of certificates and reports ("Log ..., 1200 entries, root ...").
 *
 * @returns what was recognised, and lines that are none of these
 */
export function readHeld(text: string): HeldOutside & { readonly unread: readonly string[] } {
  const keys: NoteKey[] = [];
  const heads: string[] = [];
  const printed: PrintedHead[] = [];
  const unread: string[] = [];
  const noted = text.replaceAll("\r\n", "\n").replace(signedHead, (head) => {
    heads.push(head.endsWith("\n") ? head : `${head}\n`);
    return "\n";
  });
  for (const line of noted.split("\n").map((one) => one.trim())) {
    if (line === "") continue;
    const head = printedHead.exec(line);
    const key = readNoteKey(line);
    if (head !== null) {
      printed.push({ log: head[1] ?? "", size: Number(head[2]), rootBegins: head[3] ?? "" });
    } else if (key.kind === "accepted") keys.push(key.key);
    else unread.push(line);
  }
  return { keys, heads, printed, unread };
}

/** Three lines of a checkpoint, an empty one, and its signatures. @source C2SP tlog-checkpoint, signed-note */
const signedHead = /^\S+\n\d{1,16}\n[A-Za-z0-9+/]{43}=\n\n(?:— \S+ \S+(?:\n|$))+/gm;
const printedHead = /\bLog (\S+), (\d{1,15}) entries, root ([0-9a-f]{32,64})\b/;
