import { Decimal } from "../decimal.ts";
import type { DecimalString } from "./test-terms.ts";

/** How a certificate of a standard states its figures. */
export type SignConvention = "registration" | "error" | "correction";

/**
 * Percent registration of a standard from the figure that its certificate prints: a registration R stays, an error
 * e = indicated minus true gives 100 + e, a correction c = true minus indicated gives 100 - c. For the small figures
 * of a certificate the correction in percent is taken as the error with its sign turned.
 *
 * @param printedPercent  figure as printed, percent; a decimal number
 * @param convention      what the certificate says the figure is; asked, never guessed
 * @returns percent registration, exact, written out
 * @throws RangeError if the figure is not a decimal number
 * @source JCGM 200:2012, 2.16 (error) and 2.53 (correction) as definitions; c = -e: common practice, no source
 * @example standardRegistrationOf("-0.021", "error") // "99.979"
 */
export function standardRegistrationOf(
  printedPercent: DecimalString,
  convention: SignConvention,
): DecimalString {
  if (!/^-?\d+(\.\d+)?$/.test(printedPercent)) {
    throw new RangeError(`a certificate's figure is a decimal number, got ${printedPercent}`);
  }
  if (convention === "registration") {
    return printedPercent;
  }
  const figure = new Decimal(printedPercent);
  return (convention === "error" ? figure.plus("100") : new Decimal("100").minus(figure)).toFixed();
}
