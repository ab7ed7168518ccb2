import { requirePositive } from "../require-positive.ts";
import { type Factor, factor, type WattHoursPerCount } from "../units.ts";

/**
 * Register constant of a mechanical register, by which its reading is multiplied to give kWh: Kr = Kh Rr Rs / 10,000.
 *
 * @param watthourConstant  Kh, Wh per revolution; > 0
 * @param registerRatio     Rr, revolutions of the first register wheel per revolution of the fastest dial; > 0
 * @param shaftReduction    Rs, disk revolutions per revolution of the first register wheel; > 0
 * @returns the multiplier of the register, exact
 * @throws RangeError if anything is not greater than 0
 * @source symbols: US Navy MO-221, navalfacilities.tpub.com/mo221/mo2210142.htm; the divisor: bartleby.com training sheet
 * @example Kh 7.2, Rr 13 8/9 (125/9), Rs 100: 7.2 x 13.888... x 100 / 10,000 // 1
 */
export function registerConstant(
  watthourConstant: WattHoursPerCount,
  registerRatio: Factor,
  shaftReduction: Factor,
): Factor {
  requirePositive("watthour constant", watthourConstant);
  requirePositive("register ratio", registerRatio);
  requirePositive("shaft reduction", shaftReduction);
  return factor(watthourConstant.times(registerRatio).times(shaftReduction).dividedBy("10000"));
}
