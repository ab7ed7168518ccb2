import { parseDecimal } from "../decimal.ts";
import { Fraction } from "../fraction.ts";

/** A field of an entry: a number, nothing yet, or a text that is refused with a sentence. */
export type EntryNumber =
  | { kind: "number"; value: Fraction }
  | { kind: "blank" }
  | { kind: "refused"; reason: string };

/**
 * Reads a field that must hold a number greater than 0. An empty field is not an error: it has not been entered yet.
 *
 * @param text  what stands in the field
 * @example readPositive("0") // refused: "This must be greater than 0."
 */
export function readPositive(text: string): EntryNumber {
  if (text.trim() === "") {
    return { kind: "blank" };
  }
  const parsed = parseDecimal(text);
  if (parsed.kind === "not-a-decimal") {
    return { kind: "refused", reason: parsed.reason };
  }
  const value = Fraction.of(parsed.value);
  return value.isPositive()
    ? { kind: "number", value }
    : { kind: "refused", reason: "This must be greater than 0." };
}
