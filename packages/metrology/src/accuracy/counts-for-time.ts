import { requirePositive } from "../require-positive.ts";
import { type Counts, counts, type EnergyPerCount, type EnergyQuantity, type Seconds } from "../units.ts";
import { type CircuitLoad, circuitPower } from "./circuit-power.ts";
import { roundedUp } from "./rounded-up.ts";

/**
 * Smallest whole number of counts that lasts at least the wanted time: n >= t P / (3600 K).
 *
 * @param time        t, seconds; > 0
 * @param whPerCount  K, Wh (VARh, VAh) per count; > 0
 * @param load        what the meter sees, of the same quantity
 * @returns whole counts, >= 1
 * @throws RangeError if anything is not greater than 0; see circuitPower
 * @source the inverse of expectedTime
 * @example at least 60 s with Kh 7.2 at 960 W: one revolution takes 27 s // 3 revolutions
 */
export function countsForTime<Unit extends EnergyQuantity>(
  time: Seconds,
  whPerCount: EnergyPerCount<Unit>,
  load: CircuitLoad & { quantity: NoInfer<Unit> },
): Counts {
  requirePositive("time", time);
  requirePositive("energy per count", whPerCount);
  return counts(roundedUp(time.times(circuitPower(load)).dividedBy(whPerCount.times("3600"))));
}
