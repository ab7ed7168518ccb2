/** Limits of a tolerance, or of acceptance, in the unit of the measured value; null where there is none. */
export interface IntervalLimits {
  lower: number | null;
  upper: number | null;
}

/**
 * Limits with the missing one at infinity.
 *
 * @param limits in the unit of the quantity; null where there is no limit on that side
 * @returns lower, minus infinity where it is missing, and upper, infinity where it is missing
 * @throws RangeError if both are missing, one is not a number, or lower is not below upper
 */
export function checkedLimits(limits: IntervalLimits): { lower: number; upper: number } {
  const lower = limits.lower ?? Number.NEGATIVE_INFINITY;
  const upper = limits.upper ?? Number.POSITIVE_INFINITY;
  if (limits.lower === null && limits.upper === null) throw new RangeError("at least one limit is needed");
  if (!(lower < upper)) throw new RangeError(`the lower limit ${lower} must lie below the upper ${upper}`);
  return { lower, upper };
}
