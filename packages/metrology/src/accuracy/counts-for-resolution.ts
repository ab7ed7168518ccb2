import { Fraction } from "../fraction.ts";
import { requirePositive } from "../require-positive.ts";
import { type Counts, counts, type PercentError } from "../units.ts";
import { roundedUp } from "./rounded-up.ts";

/**
 * Smallest whole number of counts that gives at least the wanted resolution: n >= 100 / resolution.
 *
 * @param resolution  what one count may be worth at most, percent; > 0
 * @returns whole counts, >= 1
 * @throws RangeError if the resolution is not greater than 0
 * @source arithmetic, the inverse of countResolution
 * @example 0.03 % // 3,334 counts
 */
export function countsForResolution(resolution: PercentError): Counts {
  requirePositive("resolution", resolution);
  return counts(roundedUp(Fraction.of("100").dividedBy(resolution)));
}
