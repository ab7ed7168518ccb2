/** Making a format takes far longer than using it, and a shop has one time zone. */
const dateFormats = new Map<string, Intl.DateTimeFormat>();

/** Calendar date of an instant in a time zone, ISO 8601. */
export function localDate(instant: Date, timeZone: string): string {
  let format = dateFormats.get(timeZone);
  if (format === undefined) {
    format = new Intl.DateTimeFormat("sv-SE", {
      timeZone,
      year: "numeric",
      month: "2-digit",
      day: "2-digit",
    });
    dateFormats.set(timeZone, format);
  }
  return format.format(instant);
}

/** Local date and time to the minute, "2026-03-02 14:05", as screens and documents show it. */
export function localMinute(instant: Date, timeZone: string): string {
  return new Intl.DateTimeFormat("sv-SE", {
    timeZone,
    year: "numeric",
    month: "2-digit",
    day: "2-digit",
    hour: "2-digit",
    minute: "2-digit",
    hour12: false,
  }).format(instant);
}
