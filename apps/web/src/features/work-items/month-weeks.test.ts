import { describe, expect, it } from "vitest";
import { monthAfter, monthWeeks } from "./month-weeks.ts";

// Read off a printed calendar.
describe("the weeks of a month", () => {
  it("begin on Monday, and leave other months' days empty", () => {
    const weeks = monthWeeks("2026-11");
    expect(weeks[0]).toEqual([null, null, null, null, null, null, "2026-11-01"]);
    expect(weeks.at(-1)).toEqual(["2026-11-30", null, null, null, null, null, null]);
    expect(weeks).toHaveLength(6);
  });
  it("are four where February begins on a Monday", () => {
    expect(monthWeeks("2027-02")).toHaveLength(4);
    expect(monthWeeks("2027-02").flat()).not.toContain(null);
  });
  it("hold the leap day", () => {
    expect(monthWeeks("2028-02").flat()).toContain("2028-02-29");
  });
});

describe("months on and back", () => {
  it.each([
    ["2026-11", 1, "2026-12"],
    ["2026-12", 1, "2027-01"],
    ["2026-01", -1, "2025-12"],
  ])("%s and %s is %s", (month, months, other) => {
    expect(monthAfter(month, months)).toBe(other);
  });
});
