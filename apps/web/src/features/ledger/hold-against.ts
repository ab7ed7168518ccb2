import type { LogHead } from "@sealbook/contract/ledger";
import { fromHex } from "@sealbook/evidence/bytes";
import { checkConsistencyProof, type TreeHead } from "@sealbook/evidence/check-consistency-proof";
import { openCheckpoint } from "@sealbook/evidence/checkpoint";
import { readNoteKey } from "@sealbook/evidence/note-key";

interface Disagreement {
  readonly kind: "refused";
  readonly sentence: string;
}

/** Reads a head that was kept elsewhere and checks that the log's own key signed it. */
export function readKeptHead(
  note: string,
  newest: LogHead,
): { kind: "accepted"; head: TreeHead } | Disagreement {
  const key = readNoteKey(newest.key);
  if (key.kind === "refused") return { kind: "refused", sentence: "The log's own key cannot be read." };
  // Text that was pasted has lost or gained line ends; the format ends with one.
  const opened = openCheckpoint(`${note.replace(/\r\n/g, "\n").trim()}\n`, [key.key]);
  if (opened.kind === "refused") {
    return {
      kind: "refused",
      sentence: `It is no head that this log's present key signed: found ${opened.got || "nothing"}, wanted ${opened.want}. A head of an earlier key is checked with the verify command.`,
    };
  }
  return { kind: "accepted", head: opened.checkpoint };
}

/**
 * Whether the log of a kept head is the beginning of the newest one.
 *
 * @param hashes consistency proof of the service, hexadecimal
 */
export function holdAgainst(
  kept: TreeHead,
  newest: LogHead,
  hashes: readonly string[],
): { kind: "accepted"; size: number } | Disagreement {
  if (kept.size > newest.size) {
    return {
      kind: "refused",
      sentence: `Your head is of ${kept.size} entries, and the log has ${newest.size}: entries have gone, or an older copy of the database was put back.`,
    };
  }
  const checked = checkConsistencyProof(
    kept,
    { size: newest.size, root: fromHex(newest.root) },
    hashes.map(fromHex),
  );
  if (checked.kind === "accepted") return { kind: "accepted", size: kept.size };
  return {
    kind: "refused",
    sentence: `The log does not begin with the ${kept.size} entries of your head: at least one of them was changed, removed, added or moved (${checked.refusal}).`,
  };
}
