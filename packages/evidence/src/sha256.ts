import { sha256 as nobleSha256 } from "@noble/hashes/sha2.js";

/** SHA-256 of bytes, synchronous, the same in the server, the browser and the offline verifier (FIPS 180-4). */
export function sha256(bytes: Uint8Array): Uint8Array {
  return nobleSha256(bytes);
}
