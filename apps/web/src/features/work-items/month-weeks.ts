const dayMilliseconds = 86_400_000;

const written = (milliseconds: number) => new Date(milliseconds).toISOString().slice(0, 10);

/**
 * The weeks of a month, each from Monday to Sunday; days of other months are null.
 *
 * @param month such as "2026-11"
 * @example monthWeeks("2026-11")[0] // [null, null, null, null, null, null, "2026-11-01"]
 */
export function monthWeeks(month: string): (string | null)[][] {
  const first = Date.parse(`${month}-01T00:00:00Z`);
  const before = (new Date(first).getUTCDay() + 6) % 7;
  const weeks: (string | null)[][] = [];
  for (let monday = first - before * dayMilliseconds; ; monday += 7 * dayMilliseconds) {
    const week = Array.from({ length: 7 }, (_, index) => written(monday + index * dayMilliseconds));
    const own = week.map((day) => (day.startsWith(month) ? day : null));
    if (own.every((day) => day === null)) return weeks;
    weeks.push(own);
  }
}

/** The month some months away, such as "2026-12" for one after "2026-11". */
export function monthAfter(month: string, months: number): string {
  const [year = 0, number = 1] = month.split("-").map(Number);
  return written(Date.UTC(year, number - 1 + months, 1)).slice(0, 7);
}
