/** A field that a change gave another value; null where it was or is absent. */
export interface ChangedField {
  /** Names of the way to it, "circuitFactors, ABC". */
  field: string;
  before: string | null;
  after: string | null;
}

/**
 * The fields that differ between the states before and after of a ledger entry. A field of which only the one or the
 * other state speaks counts as changed; lists are compared whole.
 *
 * @param payload  canonical JSON as stored
 * @returns null where the entry does not name both states
 * @example changedFields('{"after":{"kh":"1.8"},"before":{"kh":"7.2"}}') // [{ field: "kh", before: "7.2", after: "1.8" }]
 */
export function changedFields(payload: string): ChangedField[] | null {
  const entry = read(payload);
  if (!isRecord(entry) || !isRecord(entry.before) || !isRecord(entry.after)) return null;
  const before = new Map(leaves(entry.before, []));
  const after = new Map(leaves(entry.after, []));
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
  return [[way.join(", "), typeof value === "string" ? value : JSON.stringify(value)]];
}
