import { appendLeaf, joinSubtrees, type Subtree } from "./frontier.ts";

/**
 * Merkle tree hash over leaf hashes in order; the hash of no leaves is SHA-256 of nothing.
 *
 * The tree splits at the largest power of two below its size, so an odd node moves up unchanged and is
 * never doubled. It is built here as a stack of complete subtrees, which needs memory for one path only.
 *
 * @param leafHashes hashes made by leafHash, in order
 * @returns 32 bytes
 * @source RFC 6962 section 2.1
 */
export function merkleTreeHash(leafHashes: Iterable<Uint8Array>): Uint8Array {
  const frontier: Subtree[] = [];
  for (const leaf of leafHashes) appendLeaf(frontier, leaf);
  return joinSubtrees(frontier.map(({ hash }) => hash));
}
