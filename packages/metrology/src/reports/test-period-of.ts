import { wholeMonthsBetween } from "../calendar/whole-months-between.ts";

/**
 * The test period that a test closes: whole years since the meter's test before.
 *
 * @param previousOn   local date of the test before, null where none is on record
 * @param performedOn  local date of the test
 * @returns whole years as text, or "first"; a test before that is dated later counts as of the same day
 * @source "the length of meter test period", R 460.3617(2) before 10 April 2023; that it is counted in whole years since
 *   the last test on record: common practice, no source
 */
export function testPeriodOf(previousOn: string | null, performedOn: string): string {
  if (previousOn === null) return "first";
  if (previousOn >= performedOn) return "0";
  return String(Math.floor(wholeMonthsBetween(previousOn, performedOn) / 12));
}
