import { joinSubtrees } from "@sealbook/evidence/frontier";
import { type LeafRange, subtreesOf } from "@sealbook/evidence/proof-ranges";
import { findSubtreeHashes, type Reader } from "./store.ts";

/** Each range's hash from the stored subtrees, all of them read at once. */
export async function findRangeHashes(reader: Reader, ranges: readonly LeafRange[]): Promise<Uint8Array[]> {
  const subtrees = ranges.map(subtreesOf);
  const hashes = await findSubtreeHashes(reader, subtrees.flat());
  let at = 0;
  return subtrees.map(({ length }) => {
    at += length;
    return joinSubtrees(hashes.slice(at - length, at));
  });
}
