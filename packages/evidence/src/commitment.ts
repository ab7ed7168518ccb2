import { concatBytes, toHex, utf8 } from "./bytes.ts";
import { sha256 } from "./sha256.ts";

const domain = utf8("sealbook/personal/1\n");

/** Least salt: 128 bits, so that a name cannot be found by trying names. */
const leastSaltBytes = 16;

/**
 * Commitment to a personal value: what the ledger keeps instead of a name or an address.
 *
 * Whoever holds salt and value can show that the ledger meant this value; once both are erased, the
 * ledger still verifies and says nothing about the person.
 *
 * @param salt  at least 16 random bytes, kept beside the value
 * @param value the personal value as text
 * @returns 64 hexadecimal digits: SHA-256(domain || length of salt || salt || UTF-8 of value)
 * @throws RangeError if the salt is shorter than 16 or longer than 255 bytes
 */
export function commitment(salt: Uint8Array, value: string): string {
  if (salt.length < leastSaltBytes || salt.length > 255) {
    throw new RangeError(`a salt has 16 to 255 bytes, got ${salt.length}`);
  }
  return toHex(sha256(concatBytes(domain, Uint8Array.of(salt.length), salt, utf8(value))));
}
