import { describe, expect, it } from "vitest";
import { type SignConvention, standardRegistrationOf } from "./standard-registration-of.ts";

// By hand from the definitions: e = indicated - true, c = true - indicated = -e, R = 100 + e.
const cases: [string, SignConvention, string][] = [
  ["100.02", "registration", "100.02"],
  ["100.0200", "registration", "100.0200"],
  ["0.02", "error", "100.02"],
  ["-0.021", "error", "99.979"],
  ["0", "error", "100"],
  ["0.02", "correction", "99.98"],
  ["-0.021", "correction", "100.021"],
  ["0.123456789012345", "error", "100.123456789012345"],
  ["0.123456789012345", "correction", "99.876543210987655"],
];

describe("registration of a standard from its certificate", () => {
  it.each(cases)("%s as %s is %s", (printed, convention, registration) => {
    expect(standardRegistrationOf(printed, convention)).toBe(registration);
  });

  it("refuses what is not a decimal number", () => {
    expect(() => standardRegistrationOf("1e-2", "error")).toThrow(RangeError);
    expect(() => standardRegistrationOf("", "registration")).toThrow(RangeError);
  });
});
