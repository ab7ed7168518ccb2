import { merkleTreeHash } from "./merkle-tree-hash.ts";
import { consistencyRanges, inclusionRanges, type LeafRange } from "./proof-ranges.ts";

/**
 * Inclusion proof of a leaf in the tree over the given leaf hashes, for trees that fit into memory.
 *
 * @param leafHashes all leaves of the tree
 * @param index of the leaf, from 0
 * @returns hashes of 32 bytes, from the leaf's sibling up
 * @throws RangeError if there is no such leaf
 * @source RFC 6962 section 2.1.1
 */
export function makeInclusionProof(leafHashes: readonly Uint8Array[], index: number): Uint8Array[] {
  return hashesOf(leafHashes, inclusionRanges(index, leafHashes.length));
}

/**
 * Consistency proof from the tree over the first leaves to the tree over all of them.
 *
 * @param leafHashes all leaves of the newer tree
 * @param older size of the older tree, 1 to the number of leaves
 * @returns hashes of 32 bytes; none between equal sizes
 * @throws RangeError if there is no such older tree
 * @source RFC 6962 section 2.1.2
 */
export function makeConsistencyProof(leafHashes: readonly Uint8Array[], older: number): Uint8Array[] {
  return hashesOf(leafHashes, consistencyRanges(older, leafHashes.length));
}

function hashesOf(leafHashes: readonly Uint8Array[], ranges: readonly LeafRange[]): Uint8Array[] {
  return ranges.map(({ from, to }) => merkleTreeHash(leafHashes.slice(from, to)));
}
