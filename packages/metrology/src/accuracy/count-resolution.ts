import { Fraction } from "../fraction.ts";
import { requirePositive } from "../require-positive.ts";
import { type Counts, type PercentError, percentError } from "../units.ts";

/**
 * Resolution of a comparison that ends on a whole count: plus or minus one count in n, in percent.
 *
 * @param counts  n, counts over the gate of the device whose counts are not divided; > 0
 * @returns percent of registration that one count is worth, exact
 * @throws RangeError if counts is not greater than 0
 * @source arithmetic: 100 / n
 * @example 2,500 counts // 0.04 %
 */
export function countResolution(counts: Counts): PercentError {
  requirePositive("counts", counts);
  return percentError(Fraction.of("100").dividedBy(counts));
}
