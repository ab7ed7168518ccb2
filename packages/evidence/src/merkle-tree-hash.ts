import { concatBytes } from "./bytes.ts";
import { sha256 } from "./sha256.ts";

const leafPrefix = Uint8Array.of(0);
const nodePrefix = Uint8Array.of(1);

/** Hash of one leaf: SHA-256(0x00 || data). @source RFC 6962 section 2.1 */
export function leafHash(data: Uint8Array): Uint8Array {
  return sha256(concatBytes(leafPrefix, data));
}

/** Hash of an inner node: SHA-256(0x01 || left || right). @source RFC 6962 section 2.1 */
export function nodeHash(left: Uint8Array, right: Uint8Array): Uint8Array {
  return sha256(concatBytes(nodePrefix, left, right));
}

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
  const stack: { size: number; hash: Uint8Array }[] = [];
  for (const leaf of leafHashes) {
    let top = { size: 1, hash: leaf };
    for (let left = stack.at(-1); left && left.size === top.size; left = stack.at(-1)) {
      stack.pop();
      top = { size: 2 * top.size, hash: nodeHash(left.hash, top.hash) };
    }
    stack.push(top);
  }
  let right = stack.pop();
  if (!right) return sha256(new Uint8Array());
  for (let left = stack.pop(); left; left = stack.pop()) {
    right = { size: left.size + right.size, hash: nodeHash(left.hash, right.hash) };
  }
  return right.hash;
}
