import { plausibleRegistration } from "@sealbook/metrology/accuracy/is-plausible-registration";

/** What to do about a registration of a file that is not plausible: a slip of unit, sign or column, or not. */
export function implausible(registrationPercent: string): string {
  const { leastPercent, mostPercent } = plausibleRegistration;
  return `This makes ${registrationPercent} percent registration; between ${leastPercent} and ${mostPercent} is taken without a question. Check the column, its sign convention and its unit; a true reading this far off is entered by hand.`;
}
