import { parseDecimal } from "../decimal.ts";
import { Fraction } from "../fraction.ts";
import type { EntryNumber } from "./read-positive.ts";

/**
 * Reads a field that must hold a number of 0 or more. An empty field is not an error: it has not been entered yet.
 *
 * @param text  what stands in the field
 * @example readNotNegative("-1") // refused: "This must not be negative."
 */
export function readNotNegative(text: string): EntryNumber {
  if (text.trim() === "") {
    return { kind: "blank" };
  }
  const parsed = parseDecimal(text);
  if (parsed.kind === "not-a-decimal") {
    return { kind: "refused", reason: parsed.reason };
  }
  const value = Fraction.of(parsed.value);
  return value.isLessThan("0")
    ? { kind: "refused", reason: "This must not be negative." }
    : { kind: "number", value };
}
