import { requirePositive } from "../require-positive.ts";
import {
  type Counts,
  type Factor,
  type KilowattHours,
  kilowattHours,
  type WattHoursPerCount,
} from "../units.ts";

/**
 * Energy that a meter registered over some revolutions, on the primary side of its transformers:
 * kWh = Kh n TF / 1000.
 *
 * @param revolutions        n; > 0
 * @param watthourConstant   Kh, Wh per revolution; > 0
 * @param transformerFactor  TF, 1 for a self-contained meter; > 0
 * @returns kWh, exact
 * @throws RangeError if anything is not greater than 0
 * @source US Navy MO-221, navalfacilities.tpub.com/mo221/mo2210142.htm
 * @example 100 revolutions of Kh 7.2 behind transformers of factor 240 // 172.8 kWh
 */
export function energyFromRevolutions(
  revolutions: Counts,
  watthourConstant: WattHoursPerCount,
  transformerFactor: Factor,
): KilowattHours {
  requirePositive("revolutions", revolutions);
  requirePositive("watthour constant", watthourConstant);
  requirePositive("transformer factor", transformerFactor);
  return kilowattHours(revolutions.times(watthourConstant).times(transformerFactor).dividedBy("1000"));
}
