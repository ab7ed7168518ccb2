import { Decimal as DecimalConstructor } from "decimal.js";

/**
 * The decimal arithmetic of this package: 40 significant digits, ties away from zero. A clone of its own, so that
 * no other part of a program can change its precision or its rounding.
 */
export const Decimal = DecimalConstructor.clone({
  precision: 40,
  rounding: DecimalConstructor.ROUND_HALF_UP,
});
export type Decimal = DecimalConstructor;

/** Why a text is not a number, with the text itself, as a value that a screen can show beside the field. */
export interface DecimalRefusal {
  kind: "not-a-decimal";
  text: string;
  /** A sentence for the person who typed it. */
  reason: string;
}

export type ParsedDecimal = { kind: "decimal"; value: Decimal } | DecimalRefusal;

/** Longest text taken as a number. Longer ones are no reading, and exact arithmetic on them would be slow. */
const LONGEST_DECIMAL = 40;

const DECIMAL_PATTERN = /^[+-]?\d+(\.\d+)?$/;

/**
 * Is this text a finite decimal number written out: an optional sign, digits, an optional fraction, no exponent?
 *
 * @param text  any text, of at most 40 characters to be accepted
 * @example isDecimalString("100.04") // true
 * @example isDecimalString("1e3") // false
 */
export function isDecimalString(text: string): boolean {
  return text.length <= LONGEST_DECIMAL && DECIMAL_PATTERN.test(text);
}

/**
 * Reads a number that a person typed or a file carries. Surrounding blanks are ignored; nothing else is guessed.
 *
 * @param text  any text
 * @returns the exact decimal, or a refusal with a sentence for the person
 * @example parseDecimal("101.53") // { kind: "decimal", value: 101.53 }
 */
export function parseDecimal(text: string): ParsedDecimal {
  const trimmed = text.trim();
  if (isDecimalString(trimmed)) {
    return { kind: "decimal", value: new Decimal(trimmed) };
  }
  return { kind: "not-a-decimal", text, reason: reasonFor(trimmed) };
}

function reasonFor(text: string): string {
  if (text === "") {
    return "A number is missing.";
  }
  if (text.length > LONGEST_DECIMAL) {
    return `A number has at most ${LONGEST_DECIMAL} characters.`;
  }
  if (/^[+-]?\d+,\d+$/.test(text)) {
    return "Write the decimal sign as a point, not as a comma.";
  }
  return "Write a number with digits and, if needed, a decimal point.";
}

/**
 * A number written with a fixed count of decimals. Ties round away from zero; a zero carries no sign.
 *
 * @param value   a finite decimal
 * @param places  decimals, a whole number from 0 to 40
 * @throws RangeError if places is no such number or value is not finite
 * @example formatDecimal(new Decimal("-0.125"), 2) // "-0.13"
 */
export function formatDecimal(value: Decimal, places: number): string {
  if (!Number.isInteger(places) || places < 0 || places > LONGEST_DECIMAL) {
    throw new RangeError(`places must be a whole number from 0 to ${LONGEST_DECIMAL}, got ${places}`);
  }
  if (!value.isFinite()) {
    throw new RangeError(`value must be finite, got ${value.toString()}`);
  }
  const rounded = value.toDecimalPlaces(places, DecimalConstructor.ROUND_HALF_UP);
  return (rounded.isZero() ? rounded.abs() : rounded).toFixed(places);
}
