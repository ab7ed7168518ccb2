import type { RegistrationLimits } from "../accuracy/test-terms.ts";
import { Fraction } from "../fraction.ts";
import {
  type MidClass,
  type MidCurrentRange,
  type MidTemperature,
  midMaximumErrors,
} from "./mid-maximum-errors.ts";

/** Upper ends of the bands, from the narrowest outwards: a temperature belongs to the first that holds it. */
const temperatureBands: readonly { band: MidTemperature; from: string; to: string }[] = [
  { band: "+5 to +30", from: "5", to: "30" },
  { band: "-10 to +40", from: "-10", to: "40" },
  { band: "-25 to +55", from: "-25", to: "55" },
  { band: "-40 to +70", from: "-40", to: "70" },
];

/**
 * Limits of a new active-energy meter under the European directive on measuring instruments, at one load and
 * temperature; single-phase meters and polyphase meters with balanced loads.
 *
 * @param accuracyClass       class A, B or C
 * @param currentRange        where the current of the point lies
 * @param temperatureCelsius  ambient temperature, degrees Celsius; from -40 to 70
 * @returns limits in percent registration, or null outside the directive's temperatures
 * @source midMaximumErrors
 * @example class B, from Itr to Imax, 35 degrees // 97.5 to 102.5
 */
export function midLimits(
  accuracyClass: MidClass,
  currentRange: MidCurrentRange,
  temperatureCelsius: Fraction,
): RegistrationLimits | null {
  const found = temperatureBands.find(
    ({ from, to }) => !temperatureCelsius.isLessThan(from) && !temperatureCelsius.isGreaterThan(to),
  );
  if (found === undefined) {
    return null;
  }
  const error = midMaximumErrors[currentRange][found.band][accuracyClass];
  return {
    minPercent: Fraction.of("100").minus(error).toText(),
    maxPercent: Fraction.of("100").plus(error).toText(),
    source: "Directive 2014/32/EU, Annex V, Table 2",
  };
}
