import { describe, expect, it } from "vitest";
import { printedPercent } from "./printed-percent.ts";

// Rounded by hand, half away from zero.
const cases: [string, string[], string][] = [
  ["99.8003992016", ["98", "102"], "99.800"],
  ["100", ["98", "102"], "100.000"],
  ["100.0005", [], "100.001"],
  ["-0.0005", [], "-0.001"],
  // 102.00004 would print as the limit that it exceeds.
  ["102.00004", ["98", "102"], "102.00004"],
  ["97.9999999", ["98", "102"], "97.9999999"],
  ["102.4", ["98", "102"], "102.400"],
];

describe("a percentage in print", () => {
  it.each(cases)("%s beside limits %j is %s", (percent, limits, printed) => {
    expect(printedPercent(percent, limits)).toBe(printed);
  });
});
