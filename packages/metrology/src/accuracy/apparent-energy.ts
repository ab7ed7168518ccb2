import { Decimal } from "../decimal.ts";
import { type VarHours, type VoltAmpereHours, voltAmpereHours, type WattHours } from "../units.ts";

/**
 * Apparent energy from active and reactive energy over a time of steady load: VAh = sqrt(Wh^2 + VARh^2).
 *
 * @param active    Wh; any sign, negative when received
 * @param reactive  VARh; any sign
 * @returns VAh, not negative, to 40 digits
 * @source definition of apparent power for sinusoidal quantities
 * @example 3 Wh and 4 VARh // 5 VAh
 */
export function apparentEnergy(active: WattHours, reactive: VarHours): VoltAmpereHours {
  const squares = active.times(active).plus(reactive.times(reactive));
  return voltAmpereHours(Decimal.sqrt(squares.toDecimal()));
}
