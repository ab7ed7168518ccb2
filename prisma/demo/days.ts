import { dateAfter } from "@sealbook/metrology/calendar/date-after";

/** The instant of a time of day in UTC, some days after a calendar date. */
export function instantAfter(date: string, days: number, minutesOfDay = 13 * 60): Date {
  return new Date(Date.parse(`${date}T00:00:00Z`) + days * 86_400_000 + minutesOfDay * 60_000);
}

/** The same date, or the Monday after it when it falls on a weekend: the shop works on weekdays. */
export function weekday(date: string): string {
  const day = new Date(`${date}T00:00:00Z`).getUTCDay();
  if (day === 6) return dateAfter(date, 2);
  return day === 0 ? dateAfter(date, 1) : date;
}
