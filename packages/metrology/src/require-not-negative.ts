import type { Fraction } from "./fraction.ts";

/**
 * States a precondition of a formula: the number is zero or greater.
 *
 * @param name   what the number is, for the message
 * @throws RangeError if it is negative
 */
export function requireNotNegative(name: string, value: Fraction): void {
  if (value.isLessThan("0")) {
    throw new RangeError(`${name} must be 0 or greater, got ${value.toText()}`);
  }
}
