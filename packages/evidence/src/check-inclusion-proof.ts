import { toHex } from "./bytes.ts";
import { type Refused, refused } from "./checked.ts";
import { nodeHash } from "./leaf-and-node-hash.ts";
import { inclusionRanges, isTreeSize } from "./proof-ranges.ts";

export type InclusionRefusal =
  | "not-a-tree-size"
  | "leaf-outside-tree"
  | "proof-length"
  | "hash-length"
  | "root-differs";

/**
 * Checks that a leaf stands at an index of the tree with the given size and root.
 *
 * @param claim.leafHash 32 bytes
 * @param claim.index    of the leaf, from 0
 * @param claim.size     of the tree
 * @param claim.proof    hashes from the leaf's sibling up
 * @param claim.root     32 bytes
 * @source RFC 9162 section 2.1.3.2, for the trees of RFC 6962
 */
export function checkInclusionProof(claim: {
  leafHash: Uint8Array;
  index: number;
  size: number;
  proof: readonly Uint8Array[];
  root: Uint8Array;
}): { kind: "accepted" } | Refused<InclusionRefusal> {
  const { leafHash, index, size, proof, root } = claim;
  if (!isTreeSize(size)) return refused("not-a-tree-size", String(size), "a whole number from 0");
  if (!isTreeSize(index) || index >= size) {
    return refused(
      "leaf-outside-tree",
      `leaf ${index}`,
      size === 0 ? "no leaf: the tree is empty" : `0 to ${size - 1}`,
    );
  }
  const wantedLength = inclusionRanges(index, size).length;
  if (proof.length !== wantedLength) {
    return refused("proof-length", `${proof.length} hashes`, `${wantedLength} hashes`);
  }
  for (const hash of [leafHash, root, ...proof]) {
    if (hash.length !== 32) return refused("hash-length", `${hash.length} bytes`, "32 bytes");
  }
  let place = index;
  let last = size - 1;
  let hash = leafHash;
  for (const sibling of proof) {
    if (place % 2 === 1 || place === last) {
      hash = nodeHash(sibling, hash);
      // A node without a right neighbour moves up unchanged until it is a right child.
      while (place % 2 === 0 && place !== 0) {
        place /= 2;
        last = Math.floor(last / 2);
      }
    } else {
      hash = nodeHash(hash, sibling);
    }
    place = Math.floor(place / 2);
    last = Math.floor(last / 2);
  }
  const computed = toHex(hash);
  return computed === toHex(root)
    ? { kind: "accepted" }
    : refused("root-differs", `root ${computed} from the proof`, `root ${toHex(root)}`);
}
