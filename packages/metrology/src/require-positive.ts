import type { Fraction } from "./fraction.ts";

/**
 * States a precondition of a formula: the number is greater than zero.
 *
 * @param name   what the number is, for the message
 * @throws RangeError if it is zero or negative
 */
export function requirePositive(name: string, value: Fraction): void {
  if (!value.isPositive()) {
    throw new RangeError(`${name} must be greater than 0, got ${value.toText()}`);
  }
}
