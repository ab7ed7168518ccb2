import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { Fraction } from "../fraction.ts";
import { dateAfter } from "./date-after.ts";
import { calendarDay, daysBetween, type LocalDate } from "./local-date.ts";
import { monthsBefore, monthsBetween, wholeMonthsBefore } from "./months-before.ts";

const dayMilliseconds = 86_400_000;
/** The platform's own calendar is the oracle; it knows nothing of ours. */
const written = (day: number): LocalDate => new Date(day * dayMilliseconds).toISOString().slice(0, 10);
/** 1900-01-01 to 2100-12-31 in days since 1970. */
const days = fc.integer({ min: -25_567, max: 47_846 });

describe("local dates", () => {
  test("days between two dates are those of the platform's calendar", () => {
    fc.assert(
      fc.property(days, days, (from, to) => {
        expect(daysBetween(written(from), written(to))).toBe(to - from);
      }),
    );
  });
  test.each([
    "2026-02-29",
    "2100-02-29",
    "2026-13-01",
    "2026-00-10",
    "2026-04-31",
    "2026-1-1",
    "26-01-01",
    "x",
    "",
  ])("refuses %j", (date) => {
    expect(() => calendarDay(date)).toThrow(RangeError);
  });
  test.each(["2024-02-29", "2000-02-29", "2026-12-31"])("takes %s", (date) => {
    expect(daysBetween(date, date)).toBe(0);
  });
});

describe("dates some days away", () => {
  // Counted by hand on a calendar.
  test.each([
    ["2024-02-28", 2, "2024-03-01"],
    ["2025-02-28", 1, "2025-03-01"],
    ["2026-01-01", -1, "2025-12-31"],
    ["2026-11-25", 0, "2026-11-25"],
    ["2026-11-25", 365, "2027-11-25"],
  ])("%s and %s days is %s", (date, count, other) => {
    expect(dateAfter(date, count)).toBe(other);
  });
  test("lie as far apart as they were set, for any two dates", () => {
    fc.assert(
      fc.property(days, fc.integer({ min: -20_000, max: 20_000 }), (from, count) => {
        expect(daysBetween(written(from), dateAfter(written(from), count))).toBe(count);
      }),
    );
  });
  test("refuses what is no date", () => {
    expect(() => dateAfter("2026-02-30", 1)).toThrow(RangeError);
  });
});

describe("months", () => {
  test.each([
    ["2026-03-31", 1, "2026-02-28"],
    ["2024-03-31", 1, "2024-02-29"],
    ["2026-01-15", 1, "2025-12-15"],
    ["2026-11-25", 12, "2025-11-25"],
    ["2026-11-25", 0, "2026-11-25"],
  ])("%s less %s months is %s", (date, months, earlier) => {
    expect(wholeMonthsBefore(date, months)).toBe(earlier);
  });
  // Counted by hand on a calendar.
  test.each([
    ["2024-05-25", "2026-11-25", "30"],
    ["2026-11-25", "2026-11-25", "0"],
    ["2026-11-10", "2026-11-25", "0.483870967742"],
    ["2026-02-28", "2026-03-31", "1"],
    ["2026-10-26", "2026-11-25", "0.967741935484"],
  ])("from %s to %s are %s months", (from, to, months) => {
    expect(monthsBetween(from, to).toText()).toBe(months);
  });
  test.each([
    // Seven months are 25 April; the month before has 31 days from 25 March, and half of them, 15.5, count as 16.
    ["7.5", "2026-04-09"],
    ["0", "2026-11-25"],
    ["0.5", "2026-11-09"],
    ["0.9", "2026-10-28"],
  ])("%s months before 25 November 2026 is %s", (months, date) => {
    expect(monthsBefore("2026-11-25", Fraction.of(months))).toBe(date);
  });
  test("going back undoes counting, for any two dates", () => {
    fc.assert(
      fc.property(days, days, (a, b) => {
        const [from, to] = [written(Math.min(a, b)), written(Math.max(a, b))];
        expect(monthsBefore(to, monthsBetween(from, to))).toBe(from);
      }),
    );
  });
  test("refuses to count or go forward", () => {
    expect(() => monthsBetween("2026-11-26", "2026-11-25")).toThrow(RangeError);
    expect(() => monthsBefore("2026-11-25", Fraction.of("-1"))).toThrow(RangeError);
  });
});
