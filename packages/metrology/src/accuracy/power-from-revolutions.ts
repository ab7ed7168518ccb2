import { requirePositive } from "../require-positive.ts";
import { type Counts, type Seconds, type WattHoursPerCount, type Watts, watts } from "../units.ts";

/**
 * Power that a meter sees, from the time of its revolutions: P = 3600 n Kh / t.
 *
 * @param revolutions       n; > 0
 * @param watthourConstant  Kh, Wh per revolution; > 0
 * @param time              t, seconds; > 0
 * @returns power in W, exact
 * @throws RangeError if anything is not greater than 0
 * @source standby.lbl.gov/measure/in-home/electrometer (W = Kh x 3600 / t)
 * @example 1 revolution of Kh 7.2 in 27 s // 960 W
 */
export function powerFromRevolutions(
  revolutions: Counts,
  watthourConstant: WattHoursPerCount,
  time: Seconds,
): Watts {
  requirePositive("revolutions", revolutions);
  requirePositive("watthour constant", watthourConstant);
  requirePositive("time", time);
  return watts(revolutions.times(watthourConstant).times("3600").dividedBy(time));
}
