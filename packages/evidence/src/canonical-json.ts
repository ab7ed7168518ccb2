/** What canonical JSON can hold here: numbers are integers only, every measured figure is a decimal string. */
export type CanonicalValue =
  | null
  | boolean
  | number
  | string
  | readonly CanonicalValue[]
  | { readonly [key: string]: CanonicalValue | undefined };

/**
 * Canonical JSON text of a value: members sorted by UTF-16 code units, no white space, so that equal
 * values have equal bytes.
 *
 * Numbers must be safe integers: a measured figure belongs in a decimal string, because a binary double
 * does not print the same in every language. Members whose value is undefined are left out.
 *
 * @param value plain data
 * @returns text; its UTF-8 bytes are what is hashed
 * @throws RangeError for a number that is not a safe integer, and for a string with a lone surrogate
 * @source RFC 8785 (JSON Canonicalization Scheme), restricted to integers
 * @example canonicalJson({ b: "1.50", a: [true, null] }) // {"a":[true,null],"b":"1.50"}
 */
export function canonicalJson(value: CanonicalValue): string {
  if (value === null || typeof value === "boolean") return String(value);
  if (typeof value === "number") {
    if (!Number.isSafeInteger(value)) {
      throw new RangeError(`canonical JSON takes whole numbers only, got ${value}: write a decimal string`);
    }
    return String(value === 0 ? 0 : value);
  }
  if (typeof value === "string") return canonicalString(value);
  if (Array.isArray(value)) return `[${value.map(canonicalJson).join(",")}]`;
  const object = value as { readonly [key: string]: CanonicalValue | undefined };
  const members: string[] = [];
  for (const key of Object.keys(object).sort()) {
    const member = object[key];
    if (member !== undefined) members.push(`${canonicalString(key)}:${canonicalJson(member)}`);
  }
  return `{${members.join(",")}}`;
}

/** JSON.stringify already escapes exactly as RFC 8785 asks; only lone surrogates need a refusal. */
function canonicalString(text: string): string {
  if (!text.isWellFormed()) throw new RangeError("canonical JSON refuses a string with a lone surrogate");
  return JSON.stringify(text);
}
