import { requireNotNegative } from "../require-not-negative.ts";
import { requirePositive } from "../require-positive.ts";
import { type Factor, type KilowattHours, type PercentRegistration, percentRegistration } from "../units.ts";

/**
 * Percent registration from a register's advance against a standard's energy: R = 100 A / (m W).
 *
 * @param advance         A, energy that the register counted on the side where the standard stands, kWh; >= 0, and 0
 *                        for a meter that stands still
 * @param standardEnergy  W, energy that the standard indicated over the same time, kWh; > 0
 * @param circuitFactor   m, how often the meter sees the standard's energy; > 0
 * @returns percent registration, exact
 * @throws RangeError if the advance is negative, or any other is not greater than 0
 * @source definition of percent registration
 * @example the register counts 3 kWh while the standard indicates 3.01 kWh // 99.6677... %
 */
export function registrationFromRegister(
  advance: KilowattHours,
  standardEnergy: KilowattHours,
  circuitFactor: Factor,
): PercentRegistration {
  requireNotNegative("advance", advance);
  requirePositive("standard energy", standardEnergy);
  requirePositive("circuit factor", circuitFactor);
  return percentRegistration(advance.times("100").dividedBy(standardEnergy.times(circuitFactor)));
}
