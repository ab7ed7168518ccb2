import { calendarDay, daysBetween, daysInMonth, type LocalDate } from "./local-date.ts";

/**
 * Whole months between two days: how many times the day of the month of the first has come round by the second. The 31st
 * comes round at the end of a shorter month.
 *
 * @param from YYYY-MM-DD
 * @param to YYYY-MM-DD, not before the first
 * @returns months, a whole number of at least 0
 * @throws RangeError if a date is none or they are the wrong way round
 * @source common practice, no source
 * @example wholeMonthsBetween("2024-01-31", "2024-02-29") // 1
 */
export function wholeMonthsBetween(from: LocalDate, to: LocalDate): number {
  if (daysBetween(from, to) < 0) throw new RangeError(`${to} lies before ${from}`);
  const [first, last] = [calendarDay(from), calendarDay(to)];
  const months = 12 * (last.year - first.year) + last.month - first.month;
  const complete = last.day >= first.day || last.day === daysInMonth(last.year, last.month);
  return complete ? months : months - 1;
}
