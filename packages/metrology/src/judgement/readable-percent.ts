import { type ExactNumber, Fraction } from "../fraction.ts";

const FEWEST_PLACES = 3;
const MOST_PLACES = 30;

/**
 * A percent value for a sentence: three decimals, or as many more as it takes not to contradict the limits. A value
 * of 102.00004 must not be read out as "102.000" above 102.
 *
 * @param value   any exact number
 * @param limits  limits that the sentence names or that the verdict leans on
 * @returns a decimal written out without trailing zeros, at most 30 decimals
 * @example readablePercent(102.00004, ["98", "102"]) // "102.00004"
 */
export function readablePercent(value: Fraction, limits: readonly ExactNumber[]): string {
  for (let places = FEWEST_PLACES; places < MOST_PLACES; places += 1) {
    const rounded = value.toFixed(places);
    if (limits.every((limit) => Fraction.of(rounded).comparedTo(limit) === value.comparedTo(limit))) {
      return withoutTrailingZeros(rounded);
    }
  }
  return withoutTrailingZeros(value.toFixed(MOST_PLACES));
}

function withoutTrailingZeros(text: string): string {
  return text.replace(/\.?0+$/, "");
}
