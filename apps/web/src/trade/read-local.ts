import { instantOfWallTime } from "@sealbook/metrology/calendar/instant-of-wall-time";

/** What typed local date and time come to. */
export type LocalReading =
  | { kind: "instant"; instant: string }
  /** No instant, with the sentence that says what to write instead. */
  | { kind: "none"; detail: string };

/**
 * Reads local date and time as an instant. An hour that the clocks skip never was, and one that comes twice is asked
 * about: neither is guessed.
 *
 * @param text      "2026-03-02 14:05", or with T between; a date alone is midnight; an offset from UTC after the time
 *                  ("-05:00", "Z") settles an hour that comes twice
 * @param timeZone  IANA name of the zone in which it was typed
 */
export function readLocal(text: string, timeZone: string): LocalReading {
  const match = /^(\d{4})-(\d{2})-(\d{2})(?:[ T](\d{1,2}):(\d{2})(?:\s*(Z|[+-]\d{2}:\d{2}))?)?$/.exec(
    text.trim(),
  );
  const malformed: LocalReading = { kind: "none", detail: "Write a date and time such as 2026-03-02 14:05." };
  if (match === null) return malformed;
  const [, year = "", month = "", day = "", hour = "0", minute = "00", offset] = match;
  const date = new Date(`${year}-${month}-${day}T${hour.padStart(2, "0")}:${minute}:00${offset ?? "Z"}`);
  const exists = new Date(`${year}-${month}-${day}T00:00:00Z`);
  if (
    Number.isNaN(date.getTime()) ||
    exists.toISOString().slice(0, 10) !== `${year}-${month}-${day}` ||
    Number(hour) > 23
  )
    return malformed;
  if (offset !== undefined) return { kind: "instant", instant: date.toISOString() };
  const found = instantOfWallTime(
    {
      year: Number(year),
      month: Number(month),
      day: Number(day),
      hour: Number(hour),
      minute: Number(minute),
      second: 0,
      millisecond: 0,
    },
    timeZone,
  );
  switch (found.kind) {
    case "instant":
      return { kind: "instant", instant: found.at.toISOString() };
    case "nonexistent":
      return { kind: "none", detail: `Clocks in ${timeZone} went forward over this time, so it never was.` };
    case "ambiguous": {
      const wall = `${hour.padStart(2, "0")}:${minute}`;
      const [first, second] = [found.first, found.second].map((at) => offsetText(wallMinutes(match, at)));
      return {
        kind: "none",
        detail: `Clocks in ${timeZone} went back over this time, so it was twice. Write ${wall} ${first} for the first, ${wall} ${second} for the second.`,
      };
    }
  }
}

/** The instant of typed local date and time, or null where they name none. */
export function instantFromLocal(text: string, timeZone: string): string | null {
  const read = readLocal(text, timeZone);
  return read.kind === "instant" ? read.instant : null;
}

/** Minutes by which what was typed is ahead of UTC at an instant. */
function wallMinutes([, year, month, day, hour, minute]: RegExpExecArray, at: Date): number {
  const shown = Date.UTC(Number(year), Number(month) - 1, Number(day), Number(hour), Number(minute));
  return Math.round((shown - at.getTime()) / 60_000);
}

function offsetText(minutes: number): string {
  const size = Math.abs(minutes);
  return `${minutes < 0 ? "-" : "+"}${two(Math.floor(size / 60))}:${two(size % 60)}`;
}

const two = (value: number) => String(value).padStart(2, "0");
