import { Decimal } from "@sealbook/metrology/decimal";

/** A registration further off than this is a slip of unit, sign or column, not a meter: a person shall look at it. */
const plausible = { least: new Decimal("50"), most: new Decimal("150") };

/** Whether a percent registration is one that a meter can show and not a slip of unit, sign or column. */
export function isPlausibleRegistration(registrationPercent: string): boolean {
  const value = new Decimal(registrationPercent);
  return value.gte(plausible.least) && value.lte(plausible.most);
}

/** What to do about a registration that is not plausible. */
export function implausible(registrationPercent: string): string {
  return `This makes ${registrationPercent} percent registration; between ${plausible.least} and ${plausible.most} is taken without a question. Check the column, its sign convention and its unit; a true reading this far off is entered by hand.`;
}
