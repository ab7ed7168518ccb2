import { Decimal } from "../decimal.ts";
import { Fraction } from "../fraction.ts";
import { requirePositive } from "../require-positive.ts";
import type { Amperes, EnergyQuantity, Factor, Volts } from "../units.ts";

/** The load of one point: what a standard in the circuit sees, and how often the meter sees it. */
export interface CircuitLoad {
  /** V, > 0 */
  volts: Volts;
  /** I, > 0 */
  amperes: Amperes;
  /** 0 < pf <= 1 */
  powerFactor: Factor;
  /** m of the form and the circuits driven; > 0 */
  circuitFactor: Factor;
  quantity: EnergyQuantity;
}

/**
 * Power that a meter under test sees, in W, var or VA: m V I times the power factor for active power, times
 * sqrt(1 - pf^2) for reactive, times 1 for apparent power.
 *
 * @param load  voltage, current, power factor, circuit factor and quantity
 * @returns power in W, var or VA; exact but for reactive power, which has 40 digits
 * @throws RangeError if anything is not greater than 0, the power factor is above 1, or reactive power is asked for at
 *   power factor 1, where there is none
 * @source definitions of active, reactive and apparent power for sinusoidal quantities
 * @example 120 V, 2.5 A, power factor 1, three elements in series // 900 W
 */
export function circuitPower(load: CircuitLoad): Fraction {
  requirePositive("volts", load.volts);
  requirePositive("amperes", load.amperes);
  requirePositive("power factor", load.powerFactor);
  requirePositive("circuit factor", load.circuitFactor);
  if (load.powerFactor.isGreaterThan("1")) {
    throw new RangeError(`a power factor is at most 1, got ${load.powerFactor.toText()}`);
  }
  const apparent = load.circuitFactor.times(load.volts).times(load.amperes);
  if (load.quantity === "VAh") {
    return apparent;
  }
  if (load.quantity === "Wh") {
    return apparent.times(load.powerFactor);
  }
  const squareOfSine = Fraction.of("1").minus(load.powerFactor.times(load.powerFactor));
  if (!squareOfSine.isPositive()) {
    throw new RangeError("there is no reactive power at power factor 1");
  }
  return apparent.times(Decimal.sqrt(squareOfSine.toDecimal()));
}
