/** One figure or text that differs between two editions. */
export interface FigureChange {
  /** Where it stands: names of members and keys of rows, as a JSON pointer writes them. */
  readonly at: string;
  /** Null where the older edition has none. */
  readonly before: string | null;
  /** Null where the newer edition has none. */
  readonly after: string | null;
}

/**
 * What differs between two editions of a report, figure by figure. Rows of a list are matched by their own key (`key`,
 * `id`, `number`, `reason`, `code` or `dimension`, the first that all rows have and tells them apart), else by their place.
 *
 * @param before  the older edition's figures, plain data
 * @param after   the newer edition's
 * @returns the differences in the order of the newer edition; none where all is equal
 */
export function figureChanges(before: unknown, after: unknown): FigureChange[] {
  const older = new Map(leavesOf(before, ""));
  const changes: FigureChange[] = [];
  for (const [at, value] of leavesOf(after, "")) {
    const earlier = older.get(at) ?? null;
    if (earlier !== value) changes.push({ at, before: earlier, after: value });
    older.delete(at);
  }
  for (const [at, value] of older) changes.push({ at, before: value, after: null });
  return changes;
}

const rowKeys = ["key", "id", "number", "reason", "code", "dimension"] as const;

function* leavesOf(value: unknown, at: string): Generator<[string, string]> {
  if (Array.isArray(value)) {
    const key = keyOfRows(value);
    for (const [index, member] of value.entries()) {
      const name = key === null ? String(index) : String((member as Record<string, unknown>)[key]);
      yield* leavesOf(member, `${at}/${step(name)}`);
    }
    return;
  }
  if (typeof value === "object" && value !== null) {
    for (const [name, member] of Object.entries(value)) yield* leavesOf(member, `${at}/${step(name)}`);
    return;
  }
  if (value !== undefined) yield [at, String(value)];
}

function keyOfRows(rows: readonly unknown[]): string | null {
  for (const key of rowKeys) {
    const names = rows.map((row) =>
      typeof row === "object" && row !== null ? (row as Record<string, unknown>)[key] : undefined,
    );
    if (
      names.length > 0 &&
      names.every((name) => typeof name === "string") &&
      new Set(names).size === names.length
    )
      return key;
  }
  return null;
}

/** @source RFC 6901 section 3 */
function step(name: string): string {
  return name.replaceAll("~", "~0").replaceAll("/", "~1");
}
