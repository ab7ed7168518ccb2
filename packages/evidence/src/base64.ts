/** Base64 with padding of bytes. @source RFC 4648 section 4 */
export function toBase64(bytes: Uint8Array): string {
  let binary = "";
  for (const byte of bytes) binary += String.fromCharCode(byte);
  return btoa(binary);
}

/** Bytes of a base64 text, or null unless it is exactly what toBase64 would write: one text for the same bytes. */
export function fromBase64(text: string): Uint8Array | null {
  if (text.length % 4 !== 0 || !/^[A-Za-z0-9+/]*={0,2}$/.test(text)) return null;
  const bytes = Uint8Array.from(atob(text), (character) => character.charCodeAt(0));
  return toBase64(bytes) === text ? bytes : null;
}
