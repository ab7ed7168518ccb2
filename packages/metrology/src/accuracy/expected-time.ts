import { requirePositive } from "../require-positive.ts";
import { type Counts, type EnergyPerCount, type EnergyQuantity, type Seconds, seconds } from "../units.ts";
import { type CircuitLoad, circuitPower } from "./circuit-power.ts";

/**
 * Time that a meter which registers truly takes for a number of counts: t = 3600 n K / P.
 *
 * @param counts      n, disk revolutions or pulses; > 0
 * @param whPerCount  K, Wh (VARh, VAh) per count; > 0
 * @param load        what the meter sees, of the same quantity
 * @returns seconds
 * @throws RangeError if anything is not greater than 0; see circuitPower
 * @source definition of the watthour constant, 1 h = 3600 s; standby.lbl.gov/measure/in-home/electrometer (rearranged)
 * @example 1 revolution of Kh 7.2 at 43.2 W // 600 s
 */
export function expectedTime<Unit extends EnergyQuantity>(
  counts: Counts,
  whPerCount: EnergyPerCount<Unit>,
  load: CircuitLoad & { quantity: NoInfer<Unit> },
): Seconds {
  requirePositive("counts", counts);
  requirePositive("energy per count", whPerCount);
  return seconds(counts.times(whPerCount).times("3600").dividedBy(circuitPower(load)));
}
