/** A calendar date where the meter is, written YYYY-MM-DD. It carries no time and no zone, and none is guessed. */
export type LocalDate = string;

/** Year, month 1 to 12, day of the month. */
export interface CalendarDay {
  year: number;
  month: number;
  day: number;
}

const datePattern = /^(\d{4})-(\d{2})-(\d{2})$/;

/**
 * Year, month and day of a written date.
 *
 * @param date YYYY-MM-DD, a day that exists
 * @throws RangeError if it is not written so, or there is no such day
 * @source Gregorian calendar, ISO 8601
 * @example calendarDay("2024-02-29") // { year: 2024, month: 2, day: 29 }
 */
export function calendarDay(date: LocalDate): CalendarDay {
  const match = datePattern.exec(date);
  const [year, month, day] = match === null ? [0, 0, 0] : match.slice(1).map(Number);
  if (!year || !month || !day || month > 12 || day > daysInMonth(year, month)) {
    throw new RangeError(`not a calendar date: ${JSON.stringify(date)}`);
  }
  return { year, month, day };
}

/**
 * How many days a month has.
 *
 * @param year Gregorian year
 * @param month 1 to 12
 */
export function daysInMonth(year: number, month: number): number {
  if (month === 2) return (year % 4 === 0 && year % 100 !== 0) || year % 400 === 0 ? 29 : 28;
  return month === 4 || month === 6 || month === 9 || month === 11 ? 30 : 31;
}

/**
 * Days since 1 March of the year 0, so that dates can be subtracted. The year is taken to begin in March, which
 * puts the leap day at its end.
 */
function dayNumber(date: LocalDate): number {
  const { year, month, day } = calendarDay(date);
  const marchYear = month > 2 ? year : year - 1;
  const marchMonth = (month + 9) % 12;
  const leapDays = Math.floor(marchYear / 4) - Math.floor(marchYear / 100) + Math.floor(marchYear / 400);
  return 365 * marchYear + leapDays + Math.floor((153 * marchMonth + 2) / 5) + day - 1;
}

/**
 * Days from one date to another.
 *
 * @param from YYYY-MM-DD
 * @param to YYYY-MM-DD
 * @returns whole days; negative when the second is earlier
 * @throws RangeError if either is no date
 * @example daysBetween("2024-02-28", "2024-03-01") // 2
 */
export function daysBetween(from: LocalDate, to: LocalDate): number {
  return dayNumber(to) - dayNumber(from);
}

/**
 * A date written from its parts.
 *
 * @param day a day that exists
 * @returns YYYY-MM-DD
 * @example writtenDate({ year: 2024, month: 2, day: 29 }) // "2024-02-29"
 */
export function writtenDate({ year, month, day }: CalendarDay): LocalDate {
  const pad = (value: number, width: number) => String(value).padStart(width, "0");
  return `${pad(year, 4)}-${pad(month, 2)}-${pad(day, 2)}`;
}
