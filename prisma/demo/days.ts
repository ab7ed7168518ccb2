const dayMilliseconds = 86_400_000;

/** The instant of a time of day in UTC, some days after a calendar date. */
export function instantAfter(date: string, days: number, minutesOfDay = 13 * 60): Date {
  return new Date(Date.parse(`${date}T00:00:00Z`) + days * dayMilliseconds + minutesOfDay * 60_000);
}

/** The calendar date some days after another. */
export function dateAfter(date: string, days: number): string {
  return instantAfter(date, days).toISOString().slice(0, 10);
}

/** Whole days from one calendar date to another. */
export function daysBetween(from: string, to: string): number {
  return Math.round((Date.parse(to) - Date.parse(from)) / dayMilliseconds);
}

/** The same date, or the Monday after it when it falls on a weekend: the shop works on weekdays. */
export function weekday(date: string): string {
  const day = new Date(`${date}T00:00:00Z`).getUTCDay();
  if (day === 6) return dateAfter(date, 2);
  return day === 0 ? dateAfter(date, 1) : date;
}
