import { requireNotNegative } from "../require-not-negative.ts";
import { requirePositive } from "../require-positive.ts";
import {
  type Counts,
  type Energy,
  type EnergyPerCount,
  type EnergyQuantity,
  type Factor,
  type PercentRegistration,
  percentRegistration,
} from "../units.ts";

/**
 * Percent registration of a meter from its counts against a standard's energy: R = 100 n K / (m W).
 * The quantity is active, reactive or apparent energy, the same for meter and standard; delivered and received energy
 * are both counted upwards, so the formula is one.
 *
 * @param run.counts          n, disk revolutions or pulses of the meter over the gate; >= 0, and 0
 *                            for a meter that stands still
 * @param run.whPerCount      K, Kh or Kt in Wh (VARh, VAh) per count; > 0
 * @param run.circuitFactor   m, how often the meter sees the standard's energy, by form and circuits driven; > 0
 * @param run.standardEnergy  W, the standard's energy over the same gate in Wh (VARh, VAh); > 0
 * @returns percent registration, exact
 * @throws RangeError if counts are negative, or any other is not greater than 0
 * @source definition of percent registration; the factor m is common practice, no source
 * @example 28.8 Wh per revolution, 2 revolutions, 2 elements in series, standard 24.04 x 1.2 Wh // 99.8336...
 */
export function registrationFromCounts<Unit extends EnergyQuantity>(run: {
  counts: Counts;
  whPerCount: EnergyPerCount<Unit>;
  circuitFactor: Factor;
  standardEnergy: Energy<NoInfer<Unit>>;
}): PercentRegistration {
  requireNotNegative("counts", run.counts);
  requirePositive("energy per count", run.whPerCount);
  requirePositive("circuit factor", run.circuitFactor);
  requirePositive("standard energy", run.standardEnergy);
  const registered = run.counts.times(run.whPerCount);
  const passed = run.circuitFactor.times(run.standardEnergy);
  return percentRegistration(registered.times("100").dividedBy(passed));
}
