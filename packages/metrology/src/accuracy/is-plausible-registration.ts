import { Fraction } from "../fraction.ts";
import type { DecimalString } from "./test-terms.ts";

/** Percent registration between which nobody is asked, both inclusive. Common practice, no source. */
export const plausibleRegistration = { leastPercent: "50", mostPercent: "150" } as const;

/**
 * Whether a percent registration is one that meters commonly show. One further off is more often a slip of unit, sign
 * or column than a meter, so a person looks at it again.
 *
 * @param registrationPercent  percent registration, a decimal; a meter that stands still has 0
 * @throws RangeError if the text is no decimal
 * @source common practice, no source
 * @example isPlausibleRegistration("150") // true
 */
export function isPlausibleRegistration(registrationPercent: DecimalString): boolean {
  const value = Fraction.of(registrationPercent);
  return !(
    value.isLessThan(plausibleRegistration.leastPercent) ||
    value.isGreaterThan(plausibleRegistration.mostPercent)
  );
}
