/** Making a format takes far longer than using it, and a shop has one time zone. */
const dateFormats = new Map<string, Intl.DateTimeFormat>();

/**
 * Calendar date of an instant in a time zone, ISO 8601: the year has four digits, so that dates compare as text.
 *
 * @throws RangeError if there is no such time zone
 * @example localDateOf(new Date("0050-01-02T12:00:00Z"), "UTC") // "0050-01-02"
 */
export function localDateOf(instant: Date, timeZone: string): string {
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
  return format.format(instant).padStart(10, "0");
}
