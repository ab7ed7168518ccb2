import { calendarDay, daysInMonth, type LocalDate, writtenDate } from "./local-date.ts";

/**
 * The date some whole months later: the same day of the month, or the month's last day where it has no such day.
 *
 * @param date YYYY-MM-DD
 * @param months whole number >= 0
 * @returns YYYY-MM-DD
 * @throws RangeError if the date is none
 * @source common practice, no source: the calendar month
 * @example wholeMonthsAfter("2026-11-30", 3) // "2027-02-28"
 */
export function wholeMonthsAfter(date: LocalDate, months: number): LocalDate {
  const { year, month, day } = calendarDay(date);
  const index = year * 12 + (month - 1) + months;
  const laterYear = Math.floor(index / 12);
  const laterMonth = index - laterYear * 12 + 1;
  return writtenDate({
    year: laterYear,
    month: laterMonth,
    day: Math.min(day, daysInMonth(laterYear, laterMonth)),
  });
}
