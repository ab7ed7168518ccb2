import { Fraction } from "../fraction.ts";
import { dateAfter } from "./date-after.ts";
import { calendarDay, daysBetween, daysInMonth, type LocalDate, writtenDate } from "./local-date.ts";

/**
 * The date some whole months earlier: the same day of the month, or the month's last day where it has no such day.
 *
 * @param date YYYY-MM-DD
 * @param months whole number >= 0
 * @source common practice, no source: the calendar month
 * @example wholeMonthsBefore("2026-03-31", 1) // "2026-02-28"
 */
export function wholeMonthsBefore(date: LocalDate, months: number): LocalDate {
  const { year, month, day } = calendarDay(date);
  const index = year * 12 + (month - 1) - months;
  const earlierYear = Math.floor(index / 12);
  const earlierMonth = index - earlierYear * 12 + 1;
  return writtenDate({
    year: earlierYear,
    month: earlierMonth,
    day: Math.min(day, daysInMonth(earlierYear, earlierMonth)),
  });
}

/**
 * Months from one date to a later one, counted back from the later: whole calendar months, then the days that are
 * left as a part of the calendar month in which they lie.
 *
 * @param from YYYY-MM-DD, not after `to`
 * @param to YYYY-MM-DD
 * @returns months, exact
 * @throws RangeError if `from` is after `to`
 * @source common practice, no source: rules on bills speak of months and leave their parts open
 * @example monthsBetween("2024-05-25", "2026-11-25").toText() // "30"
 * @example monthsBetween("2026-11-10", "2026-11-25") // 15/31: of the month from 25 October
 */
export function monthsBetween(from: LocalDate, to: LocalDate): Fraction {
  if (daysBetween(from, to) < 0) throw new RangeError(`${from} is after ${to}`);
  const start = calendarDay(from);
  const end = calendarDay(to);
  let whole = (end.year - start.year) * 12 + end.month - start.month;
  if (daysBetween(from, wholeMonthsBefore(to, whole)) < 0) whole -= 1;
  const anchor = wholeMonthsBefore(to, whole);
  const monthDays = daysBetween(wholeMonthsBefore(to, whole + 1), anchor);
  const left = daysBetween(from, anchor);
  return Fraction.of(BigInt(whole)).plus(Fraction.of(BigInt(left)).dividedBy(BigInt(monthDays)));
}

/**
 * The date some months earlier, where a part of a month is that part of the days of the calendar month it lies in,
 * to the nearest whole day, half a day counting as a day. It undoes monthsBetween.
 *
 * @param date YYYY-MM-DD
 * @param months >= 0, exact
 * @throws RangeError if months is negative
 * @source common practice, no source
 * @example monthsBefore("2026-11-25", Fraction.of("7.5")) // "2026-04-09": 7 months, then half of 31 days
 */
export function monthsBefore(date: LocalDate, months: Fraction): LocalDate {
  if (months.isLessThan("0")) throw new RangeError(`months must not be negative, got ${months.toText()}`);
  const whole = Number(months.numerator / months.denominator);
  const anchor = wholeMonthsBefore(date, whole);
  const monthDays = daysBetween(wholeMonthsBefore(date, whole + 1), anchor);
  const back = Number(months.minus(BigInt(whole)).times(BigInt(monthDays)).toFixed(0));
  return dateAfter(anchor, -back);
}
