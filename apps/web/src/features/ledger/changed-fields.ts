/** A field that a change gave another value; null where it was or is absent. */
export interface ChangedField {
  /** Names of the way to it, "circuitFactors, ABC". */
  field: string;
  before: string | null;
  after: string | null;
}

/**
 * The fields that differ between the states before and after of a ledger entry. A field of which only the one or the
 * other state speaks counts as changed; lists of plain values are compared whole.
 *
 * @param payload  canonical JSON as stored
 * @returns null where the entry does not name both states
 * @example changedFields('{"after":{"kh":"1.8"},"before":{"kh":"7.2"}}') // [{ field: "kh", before: "7.2", after: "1.8" }]
 */
export function changedFields(payload: string): ChangedField[] | null {
  const entry = read(payload);
  if (!isRecord(entry) || !isRecord(entry.before) || !isRecord(entry.after)) return null;
  return difference(entry.before, entry.after);
}

/**
 * What a record that supersedes another says otherwise, field by field.
 *
 * @param before  payload of the entry that made the earlier record
 * @param after   payload of the entry that made the later one
 * @returns null where either is no object
 * @example fieldsChangedBetween('{"seal":"K-1"}', '{"seal":"K-2"}') // [{ field: "seal", before: "K-1", after: "K-2" }]
 */
export function fieldsChangedBetween(before: string, after: string): ChangedField[] | null {
  const [earlier, later] = [read(before), read(after)];
  return isRecord(earlier) && isRecord(later) ? difference(earlier, later) : null;
}

/** The record that an entry's record supersedes; null where it supersedes none. */
export function supersededIn(payload: string): string | null {
  const entry = read(payload);
  return isRecord(entry) && typeof entry.supersedesId === "string" ? entry.supersedesId : null;
}

function difference(earlier: unknown, later: unknown): ChangedField[] {
  const before = new Map(leaves(earlier, []));
  const after = new Map(leaves(later, []));
  return [...new Set([...before.keys(), ...after.keys()])]
    .sort()
    .map((field) => ({ field, before: before.get(field) ?? null, after: after.get(field) ?? null }))
    .filter((one) => one.before !== one.after);
}

function read(payload: string): unknown {
  try {
    return JSON.parse(payload);
  } catch {
    return null;
  }
}

function isRecord(value: unknown): value is Record<string, unknown> {
  return typeof value === "object" && value !== null && !Array.isArray(value);
}

function leaves(value: unknown, way: readonly string[]): [string, string][] {
  if (isRecord(value)) return Object.entries(value).flatMap(([name, inner]) => leaves(inner, [...way, name]));
  if (value === null) return [];
  // Rows of a list, such as the points of a pass, are gone into one by one; a list of plain values is one value.
  if (Array.isArray(value) && value.length > 0 && value.every(isRecord)) {
    return value.flatMap((inner, at) => leaves(inner, [...way, String(at + 1)]));
  }
  return [[way.join(", "), typeof value === "string" ? value : JSON.stringify(value)]];
}
