import { requirePositive } from "../require-positive.ts";
import type { Counts, Energy, EnergyPerCount, EnergyQuantity } from "../units.ts";

/**
 * Energy that a rotating standard indicated: W = r Ks.
 *
 * @param standardRevolutions  r, revolutions of the standard over the gate, parts of a revolution included; > 0
 * @param standardConstant     Ks at the current tap and voltage in use, Wh (VARh, VAh) per revolution; > 0
 * @returns energy in the unit of the constant, exact
 * @throws RangeError if either is not greater than 0
 * @source definition of a watthour constant (trade usage; common practice, no source)
 * @example 24.05 revolutions at 1.2 Wh // 28.86 Wh
 */
export function standardEnergyFromRevolutions<Unit extends EnergyQuantity>(
  standardRevolutions: Counts,
  standardConstant: EnergyPerCount<Unit>,
): Energy<Unit> {
  requirePositive("standard revolutions", standardRevolutions);
  requirePositive("standard constant", standardConstant);
  return standardRevolutions.times(standardConstant) as Energy<Unit>;
}
