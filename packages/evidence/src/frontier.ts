import { nodeHash } from "./leaf-and-node-hash.ts";
import { sha256 } from "./sha256.ts";

/** A complete subtree: as many leaves as a power of two says, and the hash over them. */
export interface Subtree {
  readonly size: number;
  readonly hash: Uint8Array;
}

/**
 * Appends one leaf to a tree that is known by its complete subtrees alone, largest first. The frontier is changed in
 * place: it grows to one subtree a set bit of the tree's size.
 *
 * @param frontier complete subtrees of the tree so far, left to right
 * @param leaf     hash made by leafHash
 * @returns hashes of the subtrees that this leaf completes, smallest first (of two leaves, of four, ...); often none
 * @source RFC 6962 section 2.1
 */
export function appendLeaf(frontier: Subtree[], leaf: Uint8Array): Uint8Array[] {
  const completed: Uint8Array[] = [];
  let top: Subtree = { size: 1, hash: leaf };
  for (let left = frontier.at(-1); left?.size === top.size; left = frontier.at(-1)) {
    frontier.pop();
    top = { size: 2 * top.size, hash: nodeHash(left.hash, top.hash) };
    completed.push(top.hash);
  }
  frontier.push(top);
  return completed;
}

/**
 * Tree hash over neighbouring complete subtrees, largest first; over none it is SHA-256 of nothing.
 *
 * @param hashes of the subtrees, left to right
 * @returns 32 bytes
 * @source RFC 6962 section 2.1
 */
export function joinSubtrees(hashes: readonly Uint8Array[]): Uint8Array {
  if (hashes.length === 0) return sha256(new Uint8Array());
  return hashes.reduceRight((right, left) => nodeHash(left, right));
}
