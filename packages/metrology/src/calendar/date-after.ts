import { calendarDay, type LocalDate } from "./local-date.ts";

/**
 * The date some days after another.
 *
 * @param date YYYY-MM-DD
 * @param days whole number; negative goes back
 * @returns YYYY-MM-DD
 * @throws RangeError if the date is none
 * @source Gregorian calendar, ISO 8601
 * @example dateAfter("2024-02-28", 2) // "2024-03-01"
 */
export function dateAfter(date: LocalDate, days: number): LocalDate {
  calendarDay(date);
  return new Date(Date.parse(`${date}T00:00:00Z`) + days * 86_400_000).toISOString().slice(0, 10);
}
