import { sha256 as nobleSha256 } from "@noble/hashes/sha2.js";

/** SHA-256 where there is no more than the language: in the browser and in the page that verifies offline. */
export function sha256(bytes: Uint8Array): Uint8Array {
  return nobleSha256(bytes);
}
