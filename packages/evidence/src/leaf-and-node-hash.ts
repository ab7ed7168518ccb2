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
