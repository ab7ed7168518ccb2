import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { Decimal } from "./decimal.ts";
import { Fraction } from "./fraction.ts";

const hundredths = fc.bigInt({ min: -(10n ** 12n), max: 10n ** 12n });
const textOf = (n: bigint) => {
  const digits = (n < 0n ? -n : n).toString().padStart(3, "0");
  return `${n < 0n ? "-" : ""}${digits.slice(0, -2)}.${digits.slice(-2)}`;
};

describe("exact fractions", () => {
  it("is made of decimals, whole numbers, Decimals and fractions without loss", () => {
    for (const value of ["-0.50", new Decimal("-0.5"), Fraction.of("-0.5")] as const) {
      const half = Fraction.of(value);
      expect([half.numerator, half.denominator]).toEqual([-1n, 2n]);
    }
    expect(Fraction.of(7n).equals("7")).toBe(true);
    expect(Fraction.of("+0.0").numerator).toBe(0n);
  });

  it("refuses what is no finite decimal", () => {
    expect(() => Fraction.of("abc")).toThrow(RangeError);
    expect(() => Fraction.of(new Decimal(Number.POSITIVE_INFINITY))).toThrow(RangeError);
    expect(() => Fraction.of("1").dividedBy("0")).toThrow(RangeError);
  });

  it("keeps thirds: an average of thirds that is 98 is not less than 98", () => {
    // (4 x 98 1/3 + 96 2/3) / 5 = (393 1/3 + 96 2/3) / 5 = 490 / 5 = 98, by hand. Forty digits give 97.99...98.
    const fullLoad = Fraction.of("295").dividedBy("3");
    const lightLoad = Fraction.of("290").dividedBy("3");
    expect(fullLoad.times("4").plus(lightLoad).dividedBy("5").equals("98")).toBe(true);
  });

  it("agrees with whole-number arithmetic on hundredths", () => {
    fc.assert(
      fc.property(hundredths, hundredths, (a, b) => {
        const [x, y] = [Fraction.of(textOf(a)), Fraction.of(textOf(b))];
        expect(x.plus(y).equals(textOf(a + b))).toBe(true);
        expect(x.minus(y).equals(textOf(a - b))).toBe(true);
        expect(x.comparedTo(y)).toBe(a < b ? -1 : a > b ? 1 : 0);
        expect(x.isLessThan(y)).toBe(a < b);
        expect(x.isGreaterThan(y)).toBe(a > b);
        expect(
          x
            .times(y)
            .times("10000")
            .equals(a * b),
        ).toBe(true);
        if (b !== 0n) {
          expect(x.dividedBy(y).times(y).equals(x)).toBe(true);
          expect(x.dividedBy(y).denominator > 0n).toBe(true);
        }
      }),
    );
  });

  it.each([
    ["1/3", Fraction.of("1").dividedBy("3"), 4, "0.3333"],
    ["-1/8", Fraction.of("-0.125"), 2, "-0.13"],
    ["2.5", Fraction.of("2.5"), 0, "3"],
    ["-0.004", Fraction.of("-0.004"), 2, "0.00"],
    ["12", Fraction.of("12"), 3, "12.000"],
  ])("writes %s with fixed decimals, ties away from zero", (_, value, places, text) => {
    expect(value.toFixed(places)).toBe(text);
  });

  it("writes significant digits without trailing zeros", () => {
    expect(Fraction.of("714").dividedBy("7").toText()).toBe("102");
    expect(Fraction.of("2").dividedBy("3").toText(5)).toBe("0.66667");
    expect(Fraction.of("100.040").toText()).toBe("100.04");
    expect(Fraction.of("1").dividedBy("3").toNumber()).toBe(1 / 3);
  });
});
