import { studentTQuantile } from "./student-t-quantile.ts";

/** Which end of the values is suspected: either, only the largest, or only the smallest. */
export type SuspectedEnd = "either" | "largest" | "smallest";

/**
 * Critical value of Grubbs' test.
 *
 * @param count number of values, a whole number >= 3
 * @param significance probability of naming a sound value, 0 < significance < 1
 * @param end which end is suspected
 * @returns critical value in sample standard deviations
 * @throws RangeError if the count or the significance is outside its range
 * @source NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.17.1
 * @example grubbsCriticalValue(8, 0.05, "largest") // 2.0317 (the e-Handbook prints 2.032)
 */
export function grubbsCriticalValue(count: number, significance: number, end: SuspectedEnd): number {
  if (!Number.isInteger(count) || count < 3) throw new RangeError("Grubbs' test needs three values or more");
  if (!(significance > 0 && significance < 1)) {
    throw new RangeError("the significance must lie between 0 and 1");
  }
  const tail = significance / (end === "either" ? 2 * count : count);
  const t = studentTQuantile(1 - tail, count - 2);
  return ((count - 1) / Math.sqrt(count)) * Math.sqrt((t * t) / (count - 2 + t * t));
}
