import { fromHex, toHex } from "@sealbook/evidence/bytes";
import { checkConsistencyProof, type TreeHead } from "@sealbook/evidence/check-consistency-proof";
import { type Checkpoint, openCheckpoint } from "@sealbook/evidence/checkpoint";
import { type NoteKey, noteKeyId, readNoteKey } from "@sealbook/evidence/note-key";
import { rootFromMany } from "@sealbook/evidence/proof-of-many";
import type { Findings } from "./finding.ts";
import { type Bundle, hashesOf } from "./read-bundle.ts";
import type { HeldOutside, PrintedHead } from "./read-held.ts";

/**
 * Whether the log signed the bundle's head, and whether it continues what the stranger holds.
 *
 * @returns the head, or null where nobody known signed it
 */
export function checkHead(bundle: Bundle, held: HeldOutside, findings: Findings): Checkpoint | null {
  if (bundle.head === null) {
    findings.wrong("head-not-signed", "The bundle has no signed head of the log.");
    return null;
  }
  const own = readNoteKey(bundle.head.key);
  if (own.kind === "refused") {
    findings.wrong("head-not-signed", `The key in the bundle is none (${own.refusal}).`);
    return null;
  }
  const trusted = held.keys.length > 0 ? held.keys : [own.key];
  if (held.keys.length === 0) {
    findings.unknown(
      "key-unknown",
      `Whose key ${fingerprint(own.key)} is, this bundle cannot say: it brings the key along. Compare it with one that you hold from elsewhere, such as from an earlier report.`,
    );
  }
  const opened = openCheckpoint(bundle.head.note, trusted);
  if (opened.kind === "refused") {
    if (held.keys.length > 0 && openCheckpoint(bundle.head.note, [own.key]).kind === "accepted") {
      findings.wrong(
        "key-differs",
        `The head is signed by key ${fingerprint(own.key)}, and not by one that you hold (${held.keys.map(fingerprint).join(", ")}).`,
      );
    } else {
      findings.wrong("head-not-signed", `The signature of the head is not true (${opened.refusal}).`);
    }
    return null;
  }
  for (const head of held.heads) checkHeldHead(head, opened.checkpoint, bundle, trusted, findings);
  for (const head of held.printed) checkPrintedHead(head, opened.checkpoint, bundle, findings);
  return opened.checkpoint;
}

function checkHeldHead(
  held: string,
  head: Checkpoint,
  bundle: Bundle,
  keys: readonly NoteKey[],
  findings: Findings,
): void {
  const opened = openCheckpoint(held, keys);
  if (opened.kind === "refused") {
    if (opened.refusal === "not-a-checkpoint" || opened.refusal === "not-a-note") {
      findings.wrong("held-head-not-readable", "The head that you hold is no signed head of a log.");
    } else if (opened.refusal === "signature-false") {
      findings.wrong("held-head-not-signed", "The signature of the head that you hold is not true.");
    } else {
      findings.wrong(
        "key-differs",
        `The head that you hold is signed by another key than ${keys.map(fingerprint).join(", ")}: either the key was changed, which the shop can show you, or this bundle is of another log.`,
      );
    }
    return;
  }
  const { checkpoint: older } = opened;
  const hashes = hashesBetween(older.size, head, bundle, findings)?.hashes;
  if (hashes !== undefined) holdConsistent(older, head, hashes, findings);
}

/** A head from paper has no signature, and the first digits of its root alone: it is held against the root here. */
function checkPrintedHead(held: PrintedHead, head: Checkpoint, bundle: Bundle, findings: Findings): void {
  if (held.log !== head.origin) {
    findings.wrong(
      "key-differs",
      `The head on your paper is of log ${held.log}, and this bundle is of ${head.origin}.`,
    );
    return;
  }
  const between = hashesBetween(held.size, head, bundle, findings);
  if (between === null) return;
  if (!between.root.startsWith(held.rootBegins)) {
    findings.wrong(
      "history-rewritten",
      `The first ${held.size} entries of this log have another root than your paper: something among them was changed, removed, added or moved.`,
    );
    return;
  }
  holdConsistent({ size: held.size, root: fromHex(between.root) }, head, between.hashes, findings);
}

/** The proof from an earlier head to the bundle's, where it brings one. */
function hashesBetween(
  size: number,
  head: Checkpoint,
  bundle: Bundle,
  findings: Findings,
): { root: string; hashes: readonly string[] } | null {
  if (size === head.size) return { root: toHex(head.root), hashes: [] };
  const earlier = size < head.size ? bundle.earlier.find((one) => one.size === size) : undefined;
  if (earlier !== undefined) return earlier;
  findings.unknown(
    "held-head-not-compared",
    size > head.size
      ? `The head that you hold has ${size} entries and the bundle's ${head.size}: ask for a bundle made after your head.`
      : `The bundle brings no proof from your head of ${size} entries: name that number when you fetch the bundle.`,
  );
  return null;
}

function holdConsistent(
  older: TreeHead,
  head: Checkpoint,
  hashes: readonly string[],
  findings: Findings,
): void {
  const check = checkConsistencyProof(older, head, hashesOf(hashes));
  if (check.kind === "refused") {
    findings.wrong(
      "history-rewritten",
      `The log of the bundle does not begin with the log under the head that you hold (${check.refusal}): something in its first ${older.size} entries was changed, removed, added or moved.`,
    );
  }
}

/** Whether every entry of the bundle stands in the log under its head, at its place. */
export function checkEntries(bundle: Bundle, head: Checkpoint | null, findings: Findings): void {
  for (let at = 1; at < bundle.leaves.length; at += 1) {
    if (bundle.leaves[at]?.index === bundle.leaves[at - 1]?.index) {
      findings.wrong("entry-twice", `Two entries claim place ${bundle.leaves[at]?.index} of the log.`);
      return;
    }
  }
  if (head === null) return;
  if (bundle.proof === null || bundle.leaves.length === 0) {
    findings.wrong("not-in-the-log", "The bundle does not prove its entries.");
    return;
  }
  if (bundle.proof.size !== head.size || (bundle.leaves.at(-1)?.index ?? 0) >= head.size) {
    findings.wrong("not-in-the-log", `The proof is not for the signed head of ${head.size} entries.`);
    return;
  }
  const made = rootFromMany(bundle.leaves, head.size, hashesOf(bundle.proof.hashes));
  if (made.kind === "refused") {
    findings.wrong("not-in-the-log", `The proof has ${made.got}, and needs ${made.want}.`);
  } else if (toHex(made.root) !== toHex(head.root)) {
    findings.wrong(
      "not-in-the-log",
      "The entries and the proof do not lead to the signed head: an entry, its place or the proof was changed.",
    );
  }
}

/** A key as people compare it: the name of the log and the short id that stands in front of its signatures. */
export function fingerprint(key: NoteKey): string {
  return `${key.name}+${toHex(noteKeyId(key))}`;
}
