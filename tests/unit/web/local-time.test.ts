import { describe, expect, test } from "vitest";
import { instantFromLocal, readLocal } from "../../../apps/web/src/trade/read-local.ts";
import { formatInstant, formatLocalDate } from "../../../apps/web/src/ui/local-time.ts";

// Offsets and days of change of America/New_York in 2026 are those of 15 U.S.C. 260a: summer time (UTC-4) from the
// second Sunday of March (8 March, 2:00) to the first Sunday of November (1 November, 2:00), else UTC-5.
const newYork = "America/New_York";

describe("local time of the shop", () => {
  test("shows an instant in the shop's zone, whatever the machine's zone is", () => {
    expect(formatInstant("2026-03-02T19:05:00.000Z", newYork)).toBe("2026-03-02 14:05");
    expect(formatInstant("2026-07-02T18:05:00.000Z", newYork)).toBe("2026-07-02 14:05");
    expect(formatInstant("2026-03-02T14:05:00-05:00", newYork)).toBe("2026-03-02 14:05");
  });

  test("gives the local day, which late in the evening is not the day of UTC", () => {
    expect(formatLocalDate("2026-03-03T02:30:00Z", newYork)).toBe("2026-03-02");
  });

  test("writes midnight as 00, not as 24", () => {
    expect(formatInstant("2026-03-02T05:00:00Z", newYork)).toBe("2026-03-02 00:00");
  });

  test("leaves a text that is no instant as it is", () => {
    expect(formatInstant("soon", newYork)).toBe("soon");
  });

  test("reads local time on both sides of summer time", () => {
    expect(instantFromLocal("2026-03-02 14:05", newYork)).toBe("2026-03-02T19:05:00.000Z");
    expect(instantFromLocal("2026-07-02T14:05", newYork)).toBe("2026-07-02T18:05:00.000Z");
    expect(instantFromLocal("2026-07-02", newYork)).toBe("2026-07-02T04:00:00.000Z");
    expect(instantFromLocal("2026-07-02 9:05", newYork)).toBe("2026-07-02T13:05:00.000Z");
  });

  test("refuses the hour that the change to summer time skips", () => {
    expect(instantFromLocal("2026-03-08 02:30", newYork)).toBeNull();
    expect(instantFromLocal("2026-03-08 01:59", newYork)).toBe("2026-03-08T06:59:00.000Z");
    expect(instantFromLocal("2026-03-08 03:00", newYork)).toBe("2026-03-08T07:00:00.000Z");
  });

  test("asks about an hour that comes twice, and takes the answer", () => {
    expect(readLocal("2026-11-01 01:30", newYork)).toEqual({
      kind: "none",
      detail:
        "Clocks in America/New_York went back over this time, so it was twice. Write 01:30 -04:00 for the first, 01:30 -05:00 for the second.",
    });
    expect(instantFromLocal("2026-11-01 01:30 -04:00", newYork)).toBe("2026-11-01T05:30:00.000Z");
    expect(instantFromLocal("2026-11-01 01:30 -05:00", newYork)).toBe("2026-11-01T06:30:00.000Z");
  });

  test("says of an hour that never was that it never was", () => {
    expect(readLocal("2026-03-08 02:30", newYork)).toEqual({
      kind: "none",
      detail: "Clocks in America/New_York went forward over this time, so it never was.",
    });
  });

  test("works on the far sides of UTC", () => {
    // Kiritimati keeps UTC+14 all year (IANA tz database).
    expect(instantFromLocal("2026-01-01 00:00", "Pacific/Kiritimati")).toBe("2025-12-31T10:00:00.000Z");
  });

  test.each(["", "2026-02-30 10:00", "2026-13-01", "2026-03-02 25:00", "02.03.2026", "2026-03-02 14:5"])(
    "refuses %j, which names no time",
    (text) => {
      expect(instantFromLocal(text, newYork)).toBeNull();
    },
  );
});
