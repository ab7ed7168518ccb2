/**
 * Local time in a named zone, as text: "2026-03-02 14:05". The browser's own zone never takes part.
 */

interface LocalParts {
  year: number;
  month: number;
  day: number;
  hour: number;
  minute: number;
}

const formats = new Map<string, Intl.DateTimeFormat>();

function formatIn(timeZone: string): Intl.DateTimeFormat {
  const known = formats.get(timeZone);
  if (known !== undefined) return known;
  const made = new Intl.DateTimeFormat("en-GB", {
    timeZone,
    calendar: "iso8601",
    numberingSystem: "latn",
    year: "numeric",
    month: "2-digit",
    day: "2-digit",
    hour: "2-digit",
    minute: "2-digit",
    hourCycle: "h23",
  });
  formats.set(timeZone, made);
  return made;
}

function partsIn(instant: Date, timeZone: string): LocalParts {
  const values = new Map(
    formatIn(timeZone)
      .formatToParts(instant)
      .map((part) => [part.type, Number(part.value)]),
  );
  const part = (type: Intl.DateTimeFormatPartTypes) => values.get(type) ?? 0;
  return {
    year: part("year"),
    month: part("month"),
    day: part("day"),
    hour: part("hour"),
    minute: part("minute"),
  };
}

const two = (value: number) => String(value).padStart(2, "0");

/** An ISO instant as local date and time, "2026-03-02 14:05"; the text itself where it is no instant. */
export function formatInstant(instant: string, timeZone: string): string {
  const date = new Date(instant);
  if (Number.isNaN(date.getTime())) return instant;
  const local = partsIn(date, timeZone);
  return `${String(local.year).padStart(4, "0")}-${two(local.month)}-${two(local.day)} ${two(local.hour)}:${two(local.minute)}`;
}

/** The local date of an ISO instant, "2026-03-02". */
export function formatLocalDate(instant: string, timeZone: string): string {
  return formatInstant(instant, timeZone).slice(0, 10);
}
