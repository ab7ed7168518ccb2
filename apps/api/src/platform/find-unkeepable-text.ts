/** U+0000, which PostgreSQL keeps in no text, and half a surrogate pair, which is no character at all. */
const unkeepable = /\0|\p{Cs}/u;

/**
 * Looks through a request for a text that no database row and no ledger entry could keep.
 *
 * @param value  what was parsed from JSON or a query
 * @returns JSON pointer (RFC 6901) of the first such text, or of the object with such a field name; null when there is none
 * @source PostgreSQL 18 documentation, 8.3 (no character with code zero); RFC 8785, 3.2.2.2 (lone surrogates are an error)
 * @example findUnkeepableText({ remarks: ["a\u0000b"] }) // "/remarks/0"
 */
export function findUnkeepableText(value: unknown, pointer = ""): string | null {
  if (typeof value === "string") return unkeepable.test(value) ? pointer : null;
  if (typeof value !== "object" || value === null) return null;
  for (const [key, part] of Object.entries(value)) {
    if (unkeepable.test(key)) return pointer;
    const found = findUnkeepableText(part, `${pointer}/${key.replaceAll("~", "~0").replaceAll("/", "~1")}`);
    if (found !== null) return found;
  }
  return null;
}
