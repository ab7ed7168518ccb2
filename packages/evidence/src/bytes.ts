const encoder = new TextEncoder();
const hexOf = Array.from({ length: 256 }, (_, byte) => byte.toString(16).padStart(2, "0"));

/** UTF-8 bytes of a text. */
export function utf8(text: string): Uint8Array {
  return encoder.encode(text);
}

/** Lower-case hexadecimal of bytes. */
export function toHex(bytes: Uint8Array): string {
  let text = "";
  for (const byte of bytes) text += hexOf[byte];
  return text;
}

/**
 * Bytes of a hexadecimal text, either case.
 * @throws RangeError if the text is not whole bytes of hexadecimal digits
 */
export function fromHex(text: string): Uint8Array {
  if (text.length % 2 !== 0 || !/^[0-9a-fA-F]*$/.test(text)) throw new RangeError("not hexadecimal bytes");
  const bytes = new Uint8Array(text.length / 2);
  for (let i = 0; i < bytes.length; i++) bytes[i] = Number.parseInt(text.slice(2 * i, 2 * i + 2), 16);
  return bytes;
}

/** The given byte strings one after the other. */
export function concatBytes(...parts: Uint8Array[]): Uint8Array {
  const whole = new Uint8Array(parts.reduce((length, part) => length + part.length, 0));
  let offset = 0;
  for (const part of parts) {
    whole.set(part, offset);
    offset += part.length;
  }
  return whole;
}

/** Whether two byte strings are the same; for public values, as it stops at the first difference. */
export function equalBytes(one: Uint8Array, other: Uint8Array): boolean {
  return one.length === other.length && one.every((byte, at) => byte === other[at]);
}
