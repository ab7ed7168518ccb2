import { toHex } from "./bytes.ts";

/**
 * UUID version 7: sorts by time, so that it serves as key and as idempotency key.
 *
 * @param unixMilliseconds time since 1970-01-01T00:00:00Z, whole, 0 to 2^48 - 1
 * @param random           10 random bytes
 * @returns the 36-character text in lower case
 * @throws RangeError if the time is out of range or the random bytes are not ten
 * @source RFC 9562 section 5.7
 * @example uuidV7(0x017f22e279b0, fromHex("0cc318c4dc0c0c07398f")) // 017f22e2-79b0-7cc3-98c4-dc0c0c07398f
 */
export function uuidV7(unixMilliseconds: number, random: Uint8Array): string {
  if (!Number.isInteger(unixMilliseconds) || unixMilliseconds < 0 || unixMilliseconds >= 2 ** 48) {
    throw new RangeError(
      `a UUID's time is a whole number of milliseconds below 2^48, got ${unixMilliseconds}`,
    );
  }
  if (random.length !== 10)
    throw new RangeError(`a UUID of version 7 takes 10 random bytes, got ${random.length}`);
  const bytes = new Uint8Array(16);
  for (let i = 0; i < 6; i++) bytes[i] = Math.floor(unixMilliseconds / 2 ** (8 * (5 - i))) % 256;
  bytes.set(random, 6);
  bytes[6] = 0x70 | ((bytes[6] ?? 0) & 0x0f);
  bytes[8] = 0x80 | ((bytes[8] ?? 0) & 0x3f);
  const hex = toHex(bytes);
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
}

/** Whether a text is a UUID of version 7 in lower case. */
export function isUuidV7(text: string): boolean {
  return /^[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/.test(text);
}
