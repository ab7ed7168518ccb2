import type { Fraction } from "../fraction.ts";

/**
 * Smallest whole number that is not less than a positive number.
 *
 * @param value  > 0
 */
export function roundedUp(value: Fraction): bigint {
  return (value.numerator + value.denominator - 1n) / value.denominator;
}
