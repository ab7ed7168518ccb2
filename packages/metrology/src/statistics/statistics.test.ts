import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { grubbsCriticalValue } from "./grubbs-critical-value.ts";
import { grubbsTest } from "./grubbs-test.ts";
import { normalCdf } from "./normal-cdf.ts";
import { normalPdf } from "./normal-pdf.ts";
import { normalQuantile } from "./normal-quantile.ts";
import { studentTCdf } from "./student-t-cdf.ts";
import { studentTQuantile } from "./student-t-quantile.ts";
import { summaryOfValues } from "./summary-of-values.ts";

/** Readings on a grid of 0.001 as whole thousandths, so that the definition can be computed in whole numbers. */
const thousandths = fc.array(fc.integer({ min: -1_000_000, max: 1_000_000 }), {
  minLength: 2,
  maxLength: 40,
});
const asReading = (value: number) => {
  const digits = String(Math.abs(value)).padStart(4, "0");
  return `${value < 0 ? "-" : ""}${digits.slice(0, -3)}.${digits.slice(-3)}`;
};

describe("summary of values", () => {
  test("agrees with the definition in whole numbers: n (n - 1) s^2 = n sum(x^2) - sum(x)^2", () => {
    fc.assert(
      fc.property(thousandths, (values) => {
        const n = BigInt(values.length);
        const sum = values.reduce((total, value) => total + BigInt(value), 0n);
        const squares = values.reduce((total, value) => total + BigInt(value) ** 2n, 0n);
        const found = summaryOfValues(values.map(asReading));
        expect(found.mean.mul(1000).mul(values.length).toFixed(20)).toBe(
          `${sum}.${"0".repeat(20)}`.replace("-0.", "0."),
        );
        const variance = found.standardDeviation
          ?.pow(2)
          .mul(1e6)
          .mul(String(n * (n - 1n)));
        const exactly = n * squares - sum * sum;
        expect(Math.abs(Number(variance?.sub(String(exactly))))).toBeLessThanOrEqual(
          1e-20 * Number(exactly) + 1e-20,
        );
      }),
    );
  });

  test("ignores the order of the readings and moves with a common shift", () => {
    fc.assert(
      fc.property(thousandths, fc.integer({ min: -1_000_000, max: 1_000_000 }), (values, shift) => {
        const found = summaryOfValues(values.map(asReading));
        const turned = summaryOfValues(values.toReversed().map(asReading));
        const shifted = summaryOfValues(values.map((value) => asReading(value + shift)));
        expect(turned.standardDeviation?.toPrecision(36)).toBe(found.standardDeviation?.toPrecision(36));
        expect(Number(shifted.standardDeviation)).toBeCloseTo(Number(found.standardDeviation), 12);
        expect(shifted.range.equals(found.range)).toBe(true);
      }),
    );
  });

  test("one reading has a mean, and no standard deviation or error", () => {
    const found = summaryOfValues([100.02]);
    expect(String(found.mean)).toBe("100.02");
    expect(found).toMatchObject({ count: 1, standardDeviation: null, standardError: null });
    expect(found.range.isZero()).toBe(true);
  });

  test("four readings: the error of the mean is half of their standard deviation", () => {
    const found = summaryOfValues(["99.9", "100.1", "99.9", "100.1"]);
    expect(found.standardError?.mul(2).equals(found.standardDeviation ?? 0)).toBe(true);
    expect(String(found.minimum)).toBe("99.9");
    expect(String(found.maximum)).toBe("100.1");
  });

  test.each([[[]], [["abc"]], [[Number.NaN]], [[Number.POSITIVE_INFINITY]], [["1", ""]]])(
    "refuses %j",
    (values) => {
      expect(() => summaryOfValues(values)).toThrow(RangeError);
    },
  );
});

describe("Grubbs' test", () => {
  test("never drops the suspect: it names it and leaves the list alone", () => {
    const values = [100, 100.1, 99.9, 100, 103];
    const found = grubbsTest(values);
    expect(found).toMatchObject({ kind: "tested", suspectIndex: 4, end: "either", exceeds: true });
    expect(values).toHaveLength(5);
  });
  test("looks only at the end that is suspected", () => {
    const values = ["90", "100", "100.1", "99.9", "101"];
    expect(grubbsTest(values, { end: "largest" })).toMatchObject({ suspectValue: 101 });
    expect(grubbsTest(values, { end: "smallest" })).toMatchObject({ suspectValue: 90 });
    expect(grubbsTest(values)).toMatchObject({ suspectValue: 90 });
  });
  test("says why there is no test", () => {
    expect(grubbsTest([1, 2])).toEqual({ kind: "not-testable", reason: "fewer-than-three-values" });
    expect(grubbsTest([5, 5, 5])).toEqual({ kind: "not-testable", reason: "no-spread" });
  });
  test("both ends share the significance", () => {
    expect(grubbsCriticalValue(10, 0.05, "either")).toBeCloseTo(
      grubbsCriticalValue(10, 0.025, "largest"),
      14,
    );
  });
  test.each([0, 1, -0.1, Number.NaN])("refuses a significance of %s", (significance) => {
    expect(() => grubbsTest([1, 2, 3], { significance })).toThrow(RangeError);
    expect(() => grubbsCriticalValue(3, significance, "either")).toThrow(RangeError);
  });
  test.each([2, 3.5, Number.NaN])("has no critical value for %s values", (count) => {
    expect(() => grubbsCriticalValue(count, 0.05, "either")).toThrow(RangeError);
  });
});

describe("distributions", () => {
  const probability = fc.double({ min: 1e-9, max: 1 - 1e-9, noNaN: true });
  test("a quantile undoes its distribution function", () => {
    fc.assert(
      fc.property(probability, fc.double({ min: 0.5, max: 1e6, noNaN: true }), (p, degreesOfFreedom) => {
        expect(normalCdf(normalQuantile(p))).toBeCloseTo(p, 12);
        expect(studentTCdf(studentTQuantile(p, degreesOfFreedom), degreesOfFreedom)).toBeCloseTo(p, 9);
      }),
    );
  });
  test("are symmetric", () => {
    fc.assert(
      fc.property(fc.double({ min: 0, max: 30, noNaN: true }), (z) => {
        expect(normalCdf(z) + normalCdf(-z)).toBeCloseTo(1, 14);
        expect(studentTCdf(z, 3) + studentTCdf(-z, 3)).toBeCloseTo(1, 14);
        expect(normalPdf(z)).toBe(normalPdf(-z));
      }),
    );
  });
  test("keep their ends and their middle", () => {
    expect(normalQuantile(0)).toBe(Number.NEGATIVE_INFINITY);
    expect(normalQuantile(1)).toBe(Number.POSITIVE_INFINITY);
    expect(normalQuantile(0.5)).toBe(0);
    expect(studentTQuantile(0, 5)).toBe(Number.NEGATIVE_INFINITY);
    expect(studentTQuantile(1, 5)).toBe(Number.POSITIVE_INFINITY);
    expect(studentTQuantile(0.5, 5)).toBe(0);
    expect(studentTQuantile(0.9, Number.POSITIVE_INFINITY)).toBe(normalQuantile(0.9));
    expect(studentTCdf(Number.POSITIVE_INFINITY, 5)).toBe(1);
    expect(studentTCdf(Number.NEGATIVE_INFINITY, 5)).toBe(0);
    expect(studentTCdf(1, Number.POSITIVE_INFINITY)).toBe(normalCdf(1));
    expect(studentTCdf(0, 5)).toBe(0.5);
  });
  test("refuse what is no probability, no number, no degrees of freedom", () => {
    for (const p of [-0.1, 1.1, Number.NaN]) {
      expect(() => normalQuantile(p)).toThrow(RangeError);
      expect(() => studentTQuantile(p, 3)).toThrow(RangeError);
    }
    expect(() => studentTQuantile(0.5, 0)).toThrow(RangeError);
    expect(() => studentTCdf(1, -1)).toThrow(RangeError);
    expect(() => studentTCdf(Number.NaN, 3)).toThrow(RangeError);
    expect(() => normalCdf(Number.NaN)).toThrow(RangeError);
    expect(() => normalPdf(Number.NaN)).toThrow(RangeError);
  });
});
