import { requirePositive } from "../require-positive.ts";
import { type Counts, type WattHours, type WattHoursPerCount, wattHours } from "../units.ts";

/**
 * Energy that a rotating standard indicated: W = r Ks.
 *
 * @param standardRevolutions  r, revolutions of the standard over the gate, parts of a revolution included; > 0
 * @param standardConstant     Ks at the current tap and voltage in use, Wh per revolution; > 0
 * @returns energy in Wh, exact
 * @throws RangeError if either is not greater than 0
 * @source definition of a watthour constant (trade usage; common practice, no source)
 * @example 24.05 revolutions at 1.2 Wh // 28.86 Wh
 */
export function standardEnergyFromRevolutions(
  standardRevolutions: Counts,
  standardConstant: WattHoursPerCount,
): WattHours {
  requirePositive("standard revolutions", standardRevolutions);
  requirePositive("standard constant", standardConstant);
  return wattHours(standardRevolutions.times(standardConstant));
}
