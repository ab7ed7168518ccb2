import { sha256 } from "@noble/hashes/sha2.js";
import { bytesToHex, utf8ToBytes } from "@noble/hashes/utils.js";

/**
 * Hash of a list of candidates that stands in the order of the specification.
 *
 * @param ordered candidates in ascending order of their UTF-8 bytes, as {@link orderCandidates} returns them
 * @returns SHA-256 of each candidate in UTF-8 followed by a line feed, 64 hexadecimal digits
 * @source draw-specification.md, rule 3; FIPS 180-4
 */
export function listHash(ordered: readonly string[]): string {
  const hash = sha256.create();
  // Some thousand at a time: one text of a million numbers would be held in memory twice.
  const chunk = 4096;
  for (let place = 0; place < ordered.length; place += chunk) {
    hash.update(utf8ToBytes(`${ordered.slice(place, place + chunk).join("\n")}\n`));
  }
  return bytesToHex(hash.digest());
}
