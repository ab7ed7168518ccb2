import { toHex } from "./bytes.ts";
import { type Refused, refused } from "./checked.ts";
import { nodeHash } from "./leaf-and-node-hash.ts";
import { consistencyRanges, isTreeSize } from "./proof-ranges.ts";

export type ConsistencyRefusal =
  | "not-a-tree-size"
  | "older-is-larger"
  | "older-is-empty"
  | "proof-length"
  | "hash-length"
  | "older-root-differs"
  | "newer-root-differs";

/** Size and root of a tree, signed or not. */
export interface TreeHead {
  readonly size: number;
  readonly root: Uint8Array;
}

/**
 * Checks that the older tree is the beginning of the newer one: nothing in it was changed, removed, added or reordered.
 *
 * Equal sizes are consistent when their roots are equal and the proof is empty. A proof from the empty tree says
 * nothing and is refused, unless both are empty. A root does not hold its size: what binds the two is the signature of
 * the head, so check that first.
 *
 * @param older size and root
 * @param newer size and root
 * @param proof hashes in the order of RFC 6962
 * @source RFC 9162 section 2.1.4.2, for the trees of RFC 6962
 */
export function checkConsistencyProof(
  older: TreeHead,
  newer: TreeHead,
  proof: readonly Uint8Array[],
): { kind: "accepted" } | Refused<ConsistencyRefusal> {
  for (const { size } of [older, newer]) {
    if (!isTreeSize(size)) return refused("not-a-tree-size", String(size), "a whole number from 0");
  }
  if (older.size > newer.size) {
    return refused("older-is-larger", `older size ${older.size}`, `at most ${newer.size}`);
  }
  if (older.size === 0 && newer.size > 0) {
    return refused("older-is-empty", "older size 0", "at least 1: a proof from the empty tree says nothing");
  }
  const wantedLength = older.size === 0 ? 0 : consistencyRanges(older.size, newer.size).length;
  if (proof.length !== wantedLength) {
    return refused("proof-length", `${proof.length} hashes`, `${wantedLength} hashes`);
  }
  for (const hash of [older.root, newer.root, ...proof]) {
    if (hash.length !== 32) return refused("hash-length", `${hash.length} bytes`, "32 bytes");
  }
  const [olderRoot, newerRoot] =
    older.size === newer.size ? [older.root, older.root] : rootsBy(older, newer, proof);
  if (toHex(olderRoot) !== toHex(older.root)) {
    return refused(
      "older-root-differs",
      `root ${toHex(olderRoot)} from the proof`,
      `root ${toHex(older.root)}`,
    );
  }
  if (toHex(newerRoot) !== toHex(newer.root)) {
    return refused(
      "newer-root-differs",
      `root ${toHex(newerRoot)} from the proof`,
      `root ${toHex(newer.root)}`,
    );
  }
  return { kind: "accepted" };
}

/** Both roots as the proof gives them; its length has been checked. */
function rootsBy(older: TreeHead, newer: TreeHead, proof: readonly Uint8Array[]): [Uint8Array, Uint8Array] {
  let place = older.size - 1;
  let last = newer.size - 1;
  while (place % 2 === 1) {
    place = Math.floor(place / 2);
    last = Math.floor(last / 2);
  }
  // An older tree that is one complete subtree is not in the proof: its root is its own hash.
  const [first = older.root, ...rest] = place === 0 ? [older.root, ...proof] : proof;
  let olderHash = first;
  let newerHash = first;
  for (const hash of rest) {
    if (place % 2 === 1 || place === last) {
      olderHash = nodeHash(hash, olderHash);
      newerHash = nodeHash(hash, newerHash);
      while (place % 2 === 0 && place !== 0) {
        place /= 2;
        last = Math.floor(last / 2);
      }
    } else {
      newerHash = nodeHash(newerHash, hash);
    }
    place = Math.floor(place / 2);
    last = Math.floor(last / 2);
  }
  return [olderHash, newerHash];
}
