/**
 * Whether two values of plain data say the same. Computed numbers may differ in their last digits from one machine to
 * another: they agree to a billionth of themselves.
 */
export function sameFigures(a: unknown, b: unknown): boolean {
  if (typeof a === "number" && typeof b === "number") {
    return a === b || Math.abs(a - b) <= 1e-9 * Math.max(Math.abs(a), Math.abs(b));
  }
  if (Array.isArray(a) && Array.isArray(b)) {
    return a.length === b.length && a.every((member, at) => sameFigures(member, b[at]));
  }
  if (isFields(a) && isFields(b)) {
    const names = new Set([...Object.keys(a), ...Object.keys(b)]);
    return [...names].every((name) => sameFigures(a[name], b[name]));
  }
  return a === b;
}

/** First place where two values of plain data differ, as a JSON pointer; null where they say the same. */
export function firstDifference(a: unknown, b: unknown, at = ""): string | null {
  if (Array.isArray(a) && Array.isArray(b) && a.length === b.length) {
    for (const [index, member] of a.entries()) {
      const found = firstDifference(member, b[index], `${at}/${index}`);
      if (found !== null) return found;
    }
    return null;
  }
  if (isFields(a) && isFields(b)) {
    for (const name of new Set([...Object.keys(a), ...Object.keys(b)])) {
      const found = firstDifference(a[name], b[name], `${at}/${name}`);
      if (found !== null) return found;
    }
    return null;
  }
  return sameFigures(a, b) ? null : at;
}

function isFields(value: unknown): value is Readonly<Record<string, unknown>> {
  return typeof value === "object" && value !== null && !Array.isArray(value);
}
