import { type PercentError, type PercentRegistration, percentError } from "../units.ts";

/**
 * Percent error of a meter: E = R - 100. Positive when the meter is fast.
 *
 * @param registration  percent registration
 * @returns percent error, exact
 * @source definition; cram.com/essay P39CYHKXC (training sheet: error = accuracy - 100)
 * @example percentErrorOf(99.79) // -0.21
 */
export function percentErrorOf(registration: PercentRegistration): PercentError {
  return percentError(registration.minus("100"));
}
