/** Limits drawn into a chart; null where there is none on that side. */
export interface ChartLimits {
  lower: number | null;
  upper: number | null;
}

/** Whether a value lies beyond a limit; the limits themselves lie within. */
export function isBeyond(value: number, limits: ChartLimits): boolean {
  return (limits.lower !== null && value < limits.lower) || (limits.upper !== null && value > limits.upper);
}

/**
 * Ends of an axis that shows all values and all limits with a little room.
 *
 * @param values  finite values, one at least
 * @param limits  the limits
 * @returns lower and upper end
 */
export function rangeWithLimits(values: readonly number[], limits: ChartLimits): [number, number] {
  const all = [...values, ...[limits.lower, limits.upper].filter((limit) => limit !== null)];
  const [low, high] = [Math.min(...all), Math.max(...all)];
  const room = high > low ? (high - low) * 0.05 : 0.1;
  return [low - room, high + room];
}
