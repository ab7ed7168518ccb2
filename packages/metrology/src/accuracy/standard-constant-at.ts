import { requirePositive } from "../require-positive.ts";
import { type Amperes, type Volts, type WattHoursPerCount, wattHoursPerCount } from "../units.ts";

/** The voltage and the current tap for which a rotating standard's constant is given, or at which it is used. */
export interface StandardTap {
  volts: Volts;
  tapAmperes: Amperes;
}

/**
 * Constant of a rotating standard at another voltage and current tap: it grows in proportion to both.
 *
 * @param constant  Ks at the stated tap, Wh per revolution; > 0
 * @param stated    voltage and tap for which it is stated; both > 0
 * @param inUse     voltage and tap in use; both > 0
 * @returns Ks at the tap in use, Wh per revolution, exact
 * @throws RangeError if anything is not greater than 0
 * @source bartleby.com/essay/Metering-Formula-F3N9UXADJK8Q (training sheet): 0.6 at 120 V, 5 A is 1.2 at 240 V, 5 A
 * @example standardConstantAt(0.6, { 120 V, 5 A }, { 240 V, 50 A }) // 12
 */
export function standardConstantAt(
  constant: WattHoursPerCount,
  stated: StandardTap,
  inUse: StandardTap,
): WattHoursPerCount {
  requirePositive("standard constant", constant);
  for (const tap of [stated, inUse]) {
    requirePositive("volts", tap.volts);
    requirePositive("tap amperes", tap.tapAmperes);
  }
  const voltageRatio = inUse.volts.dividedBy(stated.volts);
  const currentRatio = inUse.tapAmperes.dividedBy(stated.tapAmperes);
  return wattHoursPerCount(constant.times(voltageRatio).times(currentRatio));
}
