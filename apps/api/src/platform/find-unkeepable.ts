/** U+0000, which PostgreSQL keeps in no text, and half a surrogate pair, which is no character at all. */
const unkeepable = /\0|\p{Cs}/u;

/** Well beyond the deepest shape of the contract. */
const deepestLevel = 64;

/** What no row and no entry could keep, and where: JSON pointer (RFC 6901) of the value, or of the object with such a field name. */
export interface Unkeepable {
  readonly pointer: string;
  readonly detail: string;
}

/**
 * Looks through a request for a text that no database row and no ledger entry could keep, and for more levels than any
 * shape of the contract has: what goes through a value level by level would run out of stack on them.
 *
 * @param value  what was parsed from JSON or a query
 * @returns the first such place; null when there is none
 * @source PostgreSQL 18 documentation, 8.3 (no character with code zero); RFC 8785, 3.2.2.2 (lone surrogates are an
 *   error); RFC 8259, 9 (an implementation may limit the depth of nesting)
 * @example findUnkeepable({ remarks: ["a\u0000b"] }) // { pointer: "/remarks/0", detail: "Must not contain ..." }
 */
export function findUnkeepable(value: unknown, pointer = "", level = 0): Unkeepable | null {
  if (typeof value === "string") return unkeepable.test(value) ? unkeepableText(pointer) : null;
  if (typeof value !== "object" || value === null) return null;
  if (level === deepestLevel) return { pointer, detail: `Must not have more than ${deepestLevel} levels.` };
  for (const [key, part] of Object.entries(value)) {
    if (unkeepable.test(key)) return unkeepableText(pointer);
    const step = key.replaceAll("~", "~0").replaceAll("/", "~1");
    const found = findUnkeepable(part, `${pointer}/${step}`, level + 1);
    if (found !== null) return found;
  }
  return null;
}

const unkeepableText = (pointer: string): Unkeepable => ({
  pointer,
  detail: "Must not contain control characters.",
});
