/** A date and time as a clock on the wall shows it, without saying where. */
export interface WallTime {
  readonly year: number;
  readonly month: number;
  readonly day: number;
  readonly hour: number;
  readonly minute: number;
  readonly second: number;
  readonly millisecond: number;
}

export type WallInstant =
  | { kind: "instant"; at: Date }
  /** Clocks went forward over this time: it never was. */
  | { kind: "nonexistent" }
  /** Clocks went back over this time: it was twice. */
  | { kind: "ambiguous"; first: Date; second: Date };

/** No zone has been further from UTC than this, so both offsets around a change of clocks are found within. */
const day = 86_400_000;

/**
 * The instant at which a clock in a time zone showed this time. Where clocks change there is none, or there are two:
 * that is said, not guessed.
 *
 * @param wall     a date and time of day that exist in the calendar
 * @param timeZone IANA name, such as "America/New_York"
 * @throws RangeError for an unknown time zone
 * @source the tz database as the runtime carries it
 */
export function instantOfWallTime(wall: WallTime, timeZone: string): WallInstant {
  const asUtc = Date.UTC(
    wall.year,
    wall.month - 1,
    wall.day,
    wall.hour,
    wall.minute,
    wall.second,
    wall.millisecond,
  );
  const offsets = new Set([offsetAt(asUtc - day, timeZone), offsetAt(asUtc + day, timeZone)]);
  const instants = [...offsets]
    .map((offset) => asUtc - offset)
    .filter((instant) => offsetAt(instant, timeZone) === asUtc - instant)
    .sort((one, other) => one - other);
  const [first, second] = instants;
  if (first === undefined) return { kind: "nonexistent" };
  if (second === undefined) return { kind: "instant", at: new Date(first) };
  return { kind: "ambiguous", first: new Date(first), second: new Date(second) };
}

/** Whether the runtime knows a time zone by this name. */
export function isTimeZone(name: string): boolean {
  try {
    formatOf(name);
    return true;
  } catch {
    return false;
  }
}

const formats = new Map<string, Intl.DateTimeFormat>();

function formatOf(timeZone: string): Intl.DateTimeFormat {
  let format = formats.get(timeZone);
  if (format === undefined) {
    format = new Intl.DateTimeFormat("en-US", {
      timeZone,
      hourCycle: "h23",
      era: "short",
      year: "numeric",
      month: "numeric",
      day: "numeric",
      hour: "numeric",
      minute: "numeric",
      second: "numeric",
    });
    formats.set(timeZone, format);
  }
  return format;
}

/** What a clock in the zone shows minus UTC, in milliseconds. */
function offsetAt(instant: number, timeZone: string): number {
  const whole = Math.floor(instant / 1000) * 1000;
  const part: Record<string, number> = {};
  for (const { type, value } of formatOf(timeZone).formatToParts(whole)) part[type] = Number(value);
  const shown = Date.UTC(
    part.year ?? 0,
    (part.month ?? 1) - 1,
    part.day,
    part.hour,
    part.minute,
    part.second,
  );
  return shown - whole;
}
