import { expect, it } from "vitest";
import { localDate } from "./local-date.ts";

// ISO 8601: the year of a calendar date has four digits. Time zones by the IANA database: New York is at UTC-5 in
// winter and at UTC-4 in summer, which ended on 1 November 2026 at 06:00 UTC.
it.each([
  ["2026-11-25T04:59:59Z", "America/New_York", "2026-11-24"],
  ["2026-11-25T05:00:00Z", "America/New_York", "2026-11-25"],
  ["2026-11-01T03:59:59.999Z", "America/New_York", "2026-10-31"],
  ["2026-11-02T04:59:59.999Z", "America/New_York", "2026-11-01"],
  ["0050-01-02T12:00:00Z", "UTC", "0050-01-02"],
  ["0999-12-31T12:00:00Z", "UTC", "0999-12-31"],
])("%s in %s is %s", (instant, timeZone, date) => {
  expect(localDate(new Date(instant), timeZone)).toBe(date);
});
