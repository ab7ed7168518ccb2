import { type PercentError, type PercentRegistration, percentRegistration } from "../units.ts";

/**
 * Percent registration of a meter from its percent error: R = 100 + E.
 *
 * @param error  percent error, positive when the meter is fast
 * @returns percent registration, exact
 * @source definition
 * @example registrationOfError(-0.21) // 99.79
 */
export function registrationOfError(error: PercentError): PercentRegistration {
  return percentRegistration(error.plus("100"));
}
