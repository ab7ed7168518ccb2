import { Fraction } from "@sealbook/metrology/fraction";
import { readablePercent } from "@sealbook/metrology/judgement/readable-percent";

const fewestPlaces = 3;

/**
 * A percentage as documents print it: rounded half away from zero to three places, or to as many more as it takes not
 * to contradict its limits.
 *
 * @param percent  exact or 12 significant digits, as evaluated
 * @param limits   limits printed beside it
 * @example printedPercent("99.8003992016", []) // "99.800"
 * @example printedPercent("102.00004", ["98", "102"]) // "102.00004"
 */
export function printedPercent(percent: string, limits: readonly string[]): string {
  const [whole, places = ""] = readablePercent(Fraction.of(percent), limits).split(".");
  return `${whole}.${places.padEnd(fewestPlaces, "0")}`;
}
