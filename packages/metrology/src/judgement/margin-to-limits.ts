import type { RegistrationLimits } from "../accuracy/test-terms.ts";
import { Fraction } from "../fraction.ts";

export interface Margin {
  /** Distance to the nearest limit in percent; negative outside it, zero on it. Exact. */
  distance: Fraction;
  nearest: "lower" | "upper";
}

/**
 * How far a value is inside its limits.
 *
 * @param value   percent registration
 * @param limits  inclusive limits in percent registration; minPercent <= maxPercent
 * @returns the exact distance to the nearest limit; the lower one when both are as near
 * @throws RangeError if the lower limit is above the upper one
 * @source arithmetic
 * @example 101.4 within 98 to 102 // 0.6, upper
 */
export function marginToLimits(
  value: Fraction,
  limits: Pick<RegistrationLimits, "minPercent" | "maxPercent">,
): Margin {
  const lower = Fraction.of(limits.minPercent);
  const upper = Fraction.of(limits.maxPercent);
  if (upper.isLessThan(lower)) {
    throw new RangeError(`lower limit ${limits.minPercent} is above upper limit ${limits.maxPercent}`);
  }
  const aboveLower = value.minus(lower);
  const belowUpper = upper.minus(value);
  return belowUpper.isLessThan(aboveLower)
    ? { distance: belowUpper, nearest: "upper" }
    : { distance: aboveLower, nearest: "lower" };
}
