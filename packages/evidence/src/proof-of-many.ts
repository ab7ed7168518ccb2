import { type Refused, refused } from "./checked.ts";
import { nodeHash } from "./leaf-and-node-hash.ts";
import { isTreeSize, type LeafRange } from "./proof-ranges.ts";

/**
 * The ranges of leaves that a proof for many leaves at once must name: the largest subtrees of the tree that hold none of
 * them, from left to right. Neighbouring leaves share nearly all of it: a proof for a whole range needs a hash or two a
 * level, not one proof a leaf.
 *
 * @param indexes of the leaves, ascending, each once, at least one
 * @param size    of the tree
 * @throws RangeError if the indexes are not such, or the tree has no such leaf
 * @source the tree is that of RFC 6962 section 2.1; a proof for many leaves is not in it, and is specified in docs/bundle.md
 */
export function rangesBeside(indexes: readonly number[], size: number): LeafRange[] {
  requireAscending(indexes, size);
  const ranges: LeafRange[] = [];
  let next = 0;
  const walk = (from: number, to: number) => {
    const index = indexes[next];
    if (index === undefined || index >= to) {
      ranges.push({ from, to });
    } else if (to - from === 1) {
      next += 1;
    } else {
      const split = from + splitOf(to - from);
      walk(from, split);
      walk(split, to);
    }
  };
  walk(0, size);
  return ranges;
}

/**
 * Root of the tree from some of its leaves and a proof for all of them at once.
 *
 * @param leaves hashes made by leafHash with their indexes, ascending, at least one
 * @param size   of the tree
 * @param proof  hashes of the ranges that rangesBeside names, in its order
 * @returns the root, 32 bytes, to be compared with a signed head; or that the proof has not as many hashes as it must
 * @throws RangeError if the indexes are not ascending, or the tree has no such leaf
 * @source the tree is that of RFC 6962 section 2.1; a proof for many leaves is not in it, and is specified in docs/bundle.md
 */
export function rootFromMany(
  leaves: readonly { readonly index: number; readonly hash: Uint8Array }[],
  size: number,
  proof: readonly Uint8Array[],
): { kind: "root"; root: Uint8Array } | Refused<"wrong-length"> {
  const indexes = leaves.map(({ index }) => index);
  const wanted = rangesBeside(indexes, size).length;
  if (proof.length !== wanted) return refused("wrong-length", `${proof.length} hashes`, `${wanted} hashes`);
  let nextLeaf = 0;
  let nextHash = 0;
  const walk = (from: number, to: number): Uint8Array => {
    const leaf = leaves[nextLeaf];
    if (leaf === undefined || leaf.index >= to) return taken(proof[nextHash++]);
    if (to - from === 1) {
      nextLeaf += 1;
      return leaf.hash;
    }
    const split = from + splitOf(to - from);
    const left = walk(from, split);
    return nodeHash(left, walk(split, to));
  };
  return { kind: "root", root: walk(0, size) };
}

function requireAscending(indexes: readonly number[], size: number): void {
  if (!isTreeSize(size)) throw new RangeError(`${size} is no size of a tree`);
  if (indexes.length === 0) throw new RangeError("a proof is for one leaf at least");
  let before = -1;
  for (const index of indexes) {
    if (!isTreeSize(index) || index <= before || index >= size) {
      throw new RangeError(`leaf ${index} is not above leaf ${before} in a tree of ${size}`);
    }
    before = index;
  }
}

/** The largest power of two below a size above 1. */
function splitOf(size: number): number {
  let power = 1;
  while (power * 2 < size) power *= 2;
  return power;
}

function taken(hash: Uint8Array | undefined): Uint8Array {
  if (hash === undefined) throw new Error("the length of the proof was checked");
  return hash;
}
