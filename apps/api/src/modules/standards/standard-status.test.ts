import { describe, expect, it } from "vitest";
import { standardStatusOn } from "./standard-status.ts";

// Dates counted on a calendar: 2026-11-25 plus 30 days is 2026-12-25.
const cases: [string, { withdrawn: boolean; dueOn: string | null }, string][] = [
  ["valid far from its due date", { withdrawn: false, dueOn: "2027-06-01" }, "valid"],
  ["valid at 31 days", { withdrawn: false, dueOn: "2026-12-26" }, "valid"],
  ["due soon at 30 days", { withdrawn: false, dueOn: "2026-12-25" }, "due-soon"],
  ["due soon on the due date itself", { withdrawn: false, dueOn: "2026-11-25" }, "due-soon"],
  ["overdue a day later", { withdrawn: false, dueOn: "2026-11-24" }, "overdue"],
  ["never calibrated without a calibration", { withdrawn: false, dueOn: null }, "never-calibrated"],
  ["withdrawn whatever its calibration", { withdrawn: true, dueOn: "2027-06-01" }, "withdrawn"],
];

describe("status of a standard", () => {
  it.each(cases)("is %s", (_name, standard, status) => {
    expect(standardStatusOn("2026-11-25", standard)).toBe(status);
  });

  it("counts 30 days across the turn of a year and a leap day", () => {
    // 2028 has a 29 February: 30 January plus 30 days is 29 February, 31 January plus 30 days is 1 March.
    expect(standardStatusOn("2028-01-30", { withdrawn: false, dueOn: "2028-02-29" })).toBe("due-soon");
    expect(standardStatusOn("2028-01-30", { withdrawn: false, dueOn: "2028-03-01" })).toBe("valid");
    expect(standardStatusOn("2026-12-15", { withdrawn: false, dueOn: "2027-01-14" })).toBe("due-soon");
  });
});
