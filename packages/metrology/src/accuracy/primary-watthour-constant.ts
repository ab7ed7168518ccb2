import { requirePositive } from "../require-positive.ts";
import { type Factor, type WattHoursPerCount, wattHoursPerCount } from "../units.ts";

/**
 * Primary watthour constant PKh of a meter behind transformers: Wh on the primary side per revolution.
 *
 * @param watthourConstant   Kh, Wh per revolution; > 0
 * @param transformerFactor  current ratio times voltage ratio; > 0
 * @returns Wh per revolution, exact
 * @throws RangeError if either is not greater than 0
 * @source freezingblue.com card set 310317 (training cards): PKh = Kh x TF
 * @example Kh 1.8 behind 200:5 current transformers // 72
 */
export function primaryWatthourConstant(
  watthourConstant: WattHoursPerCount,
  transformerFactor: Factor,
): WattHoursPerCount {
  requirePositive("watthour constant", watthourConstant);
  requirePositive("transformer factor", transformerFactor);
  return wattHoursPerCount(watthourConstant.times(transformerFactor));
}
