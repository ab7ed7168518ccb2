import type { Fraction } from "../fraction.ts";
import { readNotNegative } from "./read-not-negative.ts";
import { readPositive } from "./read-positive.ts";

export type FieldsRead<Field extends string> =
  | { kind: "read"; values: Record<Field, Fraction> }
  /** Some fields are empty; "all" when every one is. */
  | { kind: "incomplete"; missing: Field[]; all: boolean }
  | { kind: "refused"; refused: { field: Field; text: string; reason: string }[] };

/**
 * Reads fields of one entry that must all hold numbers greater than 0, or at least 0 where that is said. A field that cannot be taken weighs more than
 * one that is empty, so that it is shown at once.
 *
 * @param texts      what stands in each field, by its name; at least one field
 * @param mayBeZero  fields that take 0, too
 */
export function readFields<Field extends string>(
  texts: Record<Field, string>,
  mayBeZero: readonly NoInfer<Field>[] = [],
): FieldsRead<Field> {
  const values: Partial<Record<Field, Fraction>> = {};
  const missing: Field[] = [];
  const refused: { field: Field; text: string; reason: string }[] = [];
  const fields = Object.entries(texts) as [Field, string][];
  for (const [field, text] of fields) {
    const read = mayBeZero.includes(field) ? readNotNegative(text) : readPositive(text);
    if (read.kind === "number") {
      values[field] = read.value;
    } else if (read.kind === "blank") {
      missing.push(field);
    } else {
      refused.push({ field, text, reason: read.reason });
    }
  }
  if (refused.length > 0) {
    return { kind: "refused", refused };
  }
  if (missing.length > 0) {
    return { kind: "incomplete", missing, all: missing.length === fields.length };
  }
  // Every field was read: none is refused and none is missing.
  return { kind: "read", values: values as Record<Field, Fraction> };
}
