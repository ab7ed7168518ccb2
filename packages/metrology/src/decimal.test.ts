import { describe, expect, it } from "vitest";
import { Decimal, formatDecimal, isDecimalString, parseDecimal } from "./decimal.ts";

describe("decimal strings", () => {
  it.each(["0", "100.04", "-0.5", "+7", "007", "123456789012345678901234567890.1234"])("takes %s", (text) => {
    expect(isDecimalString(text)).toBe(true);
  });

  it.each([
    "",
    ".5",
    "5.",
    "1e3",
    "1,5",
    "0x10",
    "NaN",
    "Infinity",
    "--1",
    "1 000",
    "１",
    "1\n",
    "9".repeat(41),
  ])("does not take %j", (text) => {
    expect(isDecimalString(text)).toBe(false);
  });

  it("reads what was typed, blanks around it ignored, digit by digit", () => {
    const parsed = parseDecimal(" 100.20 ");
    expect(parsed.kind).toBe("decimal");
    // 100.2 - 100 is 0.2 exactly; as binary doubles it is 0.20000000000000284.
    expect(parsed.kind === "decimal" && parsed.value.minus(100).equals("0.2")).toBe(true);
  });

  it.each([
    ["", "A number is missing."],
    ["1,5", "Write the decimal sign as a point, not as a comma."],
    ["abc", "Write a number with digits and, if needed, a decimal point."],
    ["1e3", "Write a number with digits and, if needed, a decimal point."],
    ["1".repeat(41), "A number has at most 40 characters."],
  ])("refuses %j with a sentence", (text, reason) => {
    expect(parseDecimal(text)).toEqual({ kind: "not-a-decimal", text, reason });
  });
});

describe("writing decimals", () => {
  // Ties away from zero, by hand: 0.125 is halfway between 0.12 and 0.13.
  it.each([
    ["0.125", 2, "0.13"],
    ["-0.125", 2, "-0.13"],
    ["0.124999", 2, "0.12"],
    ["99.995", 2, "100.00"],
    ["-0.001", 2, "0.00"],
    ["2.5", 0, "3"],
    ["-2.5", 0, "-3"],
    ["7", 3, "7.000"],
  ])("writes %s with %i decimals as %s", (value, places, text) => {
    expect(formatDecimal(new Decimal(value), places)).toBe(text);
  });

  it.each([-1, 0.5, 41])("refuses %d decimals", (places) => {
    expect(() => formatDecimal(new Decimal(1), places)).toThrow(RangeError);
  });

  it("refuses what is not finite", () => {
    expect(() => formatDecimal(new Decimal(Number.NaN), 2)).toThrow(RangeError);
  });
});
