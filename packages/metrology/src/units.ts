import { type ExactNumber, Fraction } from "./fraction.ts";

/**
 * Numbers that carry their unit in their type, so that a percent error cannot be handed over where a percent
 * registration is meant, nor kWh where Wh is meant. At run time each is a plain exact fraction; arithmetic returns a
 * bare fraction, and whoever names its unit again says what was computed.
 */
declare const unit: unique symbol;
export type QuantityIn<Unit extends string> = Fraction & { readonly [unit]: Unit };

/** What the meter registered over what truly passed, times 100. */
export type PercentRegistration = QuantityIn<"percent registration">;
/** Percent registration less 100: positive when the meter is fast. */
export type PercentError = QuantityIn<"percent error">;
/** What an energy meter may register: active, reactive or apparent energy. */
export type EnergyQuantity = "Wh" | "VARh" | "VAh";
export type Energy<Unit extends EnergyQuantity> = QuantityIn<Unit>;
export type WattHours = Energy<"Wh">;
export type VarHours = Energy<"VARh">;
export type VoltAmpereHours = Energy<"VAh">;
export type KilowattHours = QuantityIn<"kWh">;
export type Watts = QuantityIn<"W">;
export type Seconds = QuantityIn<"s">;
export type Amperes = QuantityIn<"A">;
export type Volts = QuantityIn<"V">;
/** Disk revolutions or pulses. */
export type Counts = QuantityIn<"counts">;
/** What one count stands for. */
export type EnergyPerCount<Unit extends EnergyQuantity> = QuantityIn<`${Unit} per count`>;
/** Kh or Kt. */
export type WattHoursPerCount = EnergyPerCount<"Wh">;
/** A number without unit: a power factor, a transformer ratio, how often the meter sees the standard's energy. */
export type Factor = QuantityIn<"1">;

/** @throws RangeError if the text is no decimal */
export const percentRegistration = (value: ExactNumber) => Fraction.of(value) as PercentRegistration;
/** @throws RangeError if the text is no decimal */
export const percentError = (value: ExactNumber) => Fraction.of(value) as PercentError;
/** @throws RangeError if the text is no decimal */
export const wattHours = (value: ExactNumber) => Fraction.of(value) as WattHours;
/** @throws RangeError if the text is no decimal */
export const kilowattHours = (value: ExactNumber) => Fraction.of(value) as KilowattHours;
/** @throws RangeError if the text is no decimal */
export const varHours = (value: ExactNumber) => Fraction.of(value) as VarHours;
/** @throws RangeError if the text is no decimal */
export const voltAmpereHours = (value: ExactNumber) => Fraction.of(value) as VoltAmpereHours;
/** @throws RangeError if the text is no decimal */
export const watts = (value: ExactNumber) => Fraction.of(value) as Watts;
/** @throws RangeError if the text is no decimal */
export const seconds = (value: ExactNumber) => Fraction.of(value) as Seconds;
/** @throws RangeError if the text is no decimal */
export const amperes = (value: ExactNumber) => Fraction.of(value) as Amperes;
/** @throws RangeError if the text is no decimal */
export const volts = (value: ExactNumber) => Fraction.of(value) as Volts;
/** @throws RangeError if the text is no decimal */
export const counts = (value: ExactNumber) => Fraction.of(value) as Counts;
/** @throws RangeError if the text is no decimal */
export const wattHoursPerCount = (value: ExactNumber) => Fraction.of(value) as WattHoursPerCount;
/** @throws RangeError if the text is no decimal */
export const factor = (value: ExactNumber) => Fraction.of(value) as Factor;

/** An energy in a unit known only at run time. @throws RangeError if the text is no decimal */
export function energy<Unit extends EnergyQuantity>(value: ExactNumber, _unit: Unit): Energy<Unit> {
  return Fraction.of(value) as Energy<Unit>;
}

/** An energy per count in a unit known only at run time. @throws RangeError if the text is no decimal */
export function energyPerCount<Unit extends EnergyQuantity>(
  value: ExactNumber,
  _unit: Unit,
): EnergyPerCount<Unit> {
  return Fraction.of(value) as EnergyPerCount<Unit>;
}

/**
 * An energy in kilowatthours.
 *
 * @param quantity energy in Wh, any sign
 * @returns the same energy in kWh, exact
 * @source SI: kilo is 1,000
 * @example kilowattHoursFromWattHours(wattHours("7.2")) // 0.0072 kWh
 */
export function kilowattHoursFromWattHours(quantity: WattHours): KilowattHours {
  return kilowattHours(quantity.dividedBy("1000"));
}

/**
 * An energy in watthours.
 *
 * @param quantity energy in kWh, any sign
 * @returns the same energy in Wh, exact
 * @source SI: kilo is 1,000
 * @example wattHoursFromKilowattHours(kilowattHours("0.0072")) // 7.2 Wh
 */
export function wattHoursFromKilowattHours(quantity: KilowattHours): WattHours {
  return wattHours(quantity.times("1000"));
}
