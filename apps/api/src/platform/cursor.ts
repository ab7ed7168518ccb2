import { findUnkeepable } from "./find-unkeepable.ts";
import { ProblemError } from "./problem-error.ts";

/** Cursor of a page: the sort key of its last row, as text that clients pass back unread. */
export function toCursor(key: readonly (string | number | null)[]): string {
  return Buffer.from(JSON.stringify(key)).toString("base64url");
}

/**
 * Sort key in a cursor.
 * @throws ProblemError malformed-request if it is not one of ours for a key of this length
 */
export function fromCursor(cursor: string, length: number): (string | number | null)[] {
  try {
    const key: unknown = JSON.parse(Buffer.from(cursor, "base64url").toString("utf8"));
    if (
      Array.isArray(key) &&
      key.length === length &&
      key.every((part) => part === null || typeof part === "string" || Number.isFinite(part)) &&
      findUnkeepable(key) === null
    ) {
      return key as (string | number | null)[];
    }
  } catch {
    // falls through to the refusal
  }
  throw noSuchPage();
}

/** The refusal of a cursor that is none of a list's own. */
export function noSuchPage(): ProblemError {
  return new ProblemError("malformed-request", "This page does not exist; begin the list again.", {
    errors: [{ pointer: "cursor", detail: "This is not a cursor of this list." }],
  });
}

/**
 * Cuts rows fetched as limit + 1 into a page.
 * @param keyOf sort key of a row, of the same length that fromCursor expects
 */
export function toPage<Row>(
  rows: Row[],
  limit: number,
  keyOf: (row: Row) => (string | number | null)[],
): { rows: Row[]; next: string | null } {
  const page = rows.slice(0, limit);
  const last = page.at(-1);
  return { rows: page, next: rows.length > limit && last !== undefined ? toCursor(keyOf(last)) : null };
}
