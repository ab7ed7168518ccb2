/**
 * Whole months between two days: how many times the day of the month of the first has come round by the second. The 31st
 * comes round at the end of a shorter month.
 *
 * @param from ISO 8601 calendar date
 * @param to ISO 8601 calendar date, not before the first
 * @returns months, a whole number of at least 0
 * @throws RangeError if a date is none or they are the wrong way round
 * @source common practice, no source
 * @example wholeMonthsBetween("2024-01-31", "2024-02-29") // 1
 */
export function wholeMonthsBetween(from: string, to: string): number {
  const [first, last] = [parts(from), parts(to)];
  if (to < from) throw new RangeError(`${to} lies before ${from}`);
  const months = 12 * (last.year - first.year) + last.month - first.month;
  const daysOfLastMonth = new Date(Date.UTC(last.year, last.month, 0)).getUTCDate();
  const complete = last.day >= first.day || last.day === daysOfLastMonth;
  return complete ? months : months - 1;
}

function parts(date: string): { year: number; month: number; day: number } {
  const match = /^(\d{4})-(\d{2})-(\d{2})$/.exec(date);
  if (match === null) throw new RangeError(`not a calendar date: ${date}`);
  return { year: Number(match[1]), month: Number(match[2]), day: Number(match[3]) };
}
