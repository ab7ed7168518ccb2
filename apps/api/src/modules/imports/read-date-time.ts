import { instantOfWallTime } from "@sealbook/metrology/calendar/instant-of-wall-time";
import { type DateOrder, readDate } from "./read-date.ts";

export type ReadDateTime =
  | { kind: "instant"; at: Date }
  | {
      kind: "refused";
      code: "bad-date" | "time-missing" | "time-nonexistent" | "time-ambiguous";
      detail: string;
    };

const timePattern = /^(\d{1,2}):(\d{2})(?::(\d{2})(?:[.,](\d{1,6}))?)?\s*([AaPp])?(?:\.?[Mm]\.?)?$/;
const offsetPattern = /\s*(Z|[+-]\d{2}:?\d{2})$/;

const looks: Record<DateOrder, string> = {
  iso: "2026-03-31 14:05",
  "day-month-year": "31.03.2026 14:05",
  "month-day-year": "03/31/2026 14:05",
};

/**
 * Reads when a test was performed. Years have four digits: a shorter one is a guess at a century.
 *
 * @param text     date and time, the time perhaps with an offset from UTC ("Z", "+01:00"), which then settles the instant
 * @param order    order of the date's parts as the mapping says
 * @param timeZone IANA zone of times without an offset
 * @source ISO 8601 for order "iso" and offsets
 */
export function readDateTime(text: string, order: DateOrder, timeZone: string): ReadDateTime {
  const bad: ReadDateTime = {
    kind: "refused",
    code: "bad-date",
    detail: `This is no date and time that exist, written like ${looks[order]}. Write it so, or change the mapping's order of the date.`,
  };
  const offset = /\d:\d/.test(text) ? (offsetPattern.exec(text)?.[1] ?? null) : null;
  const local = offset === null ? text : text.replace(offsetPattern, "");
  const split = /^(\S+?)(?:[T\s]\s*(\S.*))?$/.exec(local.trim());
  const date = readDate(split?.[1] ?? "", order);
  if (date === null) return bad;
  if (split?.[2] === undefined) {
    return {
      kind: "refused",
      code: "time-missing",
      detail: "The time of day is missing. Add it: date and time tell one test of a meter from another.",
    };
  }
  const time = readTime(split[2]);
  if (time === null) return bad;
  const wall = { ...date, ...time };
  if (offset !== null) {
    const minutes = offset === "Z" ? 0 : Number(offset.slice(1, 3)) * 60 + Number(offset.slice(-2));
    if (minutes > 14 * 60 || Number(offset.slice(-2)) > 59) return bad;
    const utc = Date.UTC(
      wall.year,
      wall.month - 1,
      wall.day,
      wall.hour,
      wall.minute,
      wall.second,
      wall.millisecond,
    );
    return { kind: "instant", at: new Date(utc - (offset.startsWith("-") ? -minutes : minutes) * 60_000) };
  }
  const found = instantOfWallTime(wall, timeZone);
  if (found.kind === "instant") return found;
  if (found.kind === "nonexistent") {
    return {
      kind: "refused",
      code: "time-nonexistent",
      detail: `Clocks in ${timeZone} went forward over this time, so it never was. Write the time that it was, or add its offset from UTC.`,
    };
  }
  return {
    kind: "refused",
    code: "time-ambiguous",
    detail: `Clocks in ${timeZone} went back over this time, so it was twice. Add the offset from UTC: ${found.first.toISOString()} or ${found.second.toISOString()} in UTC.`,
  };
}

function readTime(
  text: string,
): { hour: number; minute: number; second: number; millisecond: number } | null {
  const match = timePattern.exec(text.trim());
  if (match === null) return null;
  const [, hourText, minuteText, secondText = "0", fraction = "", half] = match;
  const minute = Number(minuteText);
  const second = Number(secondText);
  let hour = Number(hourText);
  if (half !== undefined) {
    if (hour < 1 || hour > 12) return null;
    hour = (hour % 12) + (half.toLowerCase() === "p" ? 12 : 0);
  }
  if (hour > 23 || minute > 59 || second > 59) return null;
  return { hour, minute, second, millisecond: Number(fraction.slice(0, 3).padEnd(3, "0")) };
}
