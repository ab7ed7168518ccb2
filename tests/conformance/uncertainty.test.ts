import { combineUncertainty } from "@sealbook/metrology/uncertainty/combine-uncertainty";
import { coverageFactor } from "@sealbook/metrology/uncertainty/coverage-factor";
import { expandUncertainty } from "@sealbook/metrology/uncertainty/expand-uncertainty";
import { standardUncertainty } from "@sealbook/metrology/uncertainty/standard-uncertainty";
import { testAccuracyRatio } from "@sealbook/metrology/uncertainty/test-accuracy-ratio";
import { testUncertaintyRatio } from "@sealbook/metrology/uncertainty/test-uncertainty-ratio";
import type { UncertaintyComponent } from "@sealbook/metrology/uncertainty/uncertainty-component";
import { describe, expect, test } from "vitest";

/** A value agrees with print when it rounds to the printed digits. */
const expectPrinted = (got: number, printed: number, decimals: number) =>
  expect(Math.abs(got - printed)).toBeLessThanOrEqual(0.5000001 * 10 ** -decimals);

const expanded = (...given: Parameters<typeof expandUncertainty>) => {
  const found = expandUncertainty(...given);
  if (found.kind !== "expanded") throw new Error(found.reason);
  return found;
};

const evaluated = (value: number, distribution: UncertaintyComponent["distribution"], divisor?: number) =>
  standardUncertainty({ label: "x", value, distribution, divisor });

describe("JCGM 100:2008, clause 4.3 and F.2: standard uncertainties of single components (values from memory)", () => {
  test("4.3.3: a mass standard, 240 micrograms at three standard deviations, gives 80", () => {
    expectPrinted(evaluated(240, "normal", 3), 80, 0);
  });
  test("4.3.4: a resistor, 129 microohms at a level of 99 %, gives 50", () => {
    expectPrinted(evaluated(129, "normal", coverageFactor(0.99, null)), 50, 0);
  });
  test("4.3.5: a length, even odds within 0.04 mm, gives 0.06 mm", () => {
    expectPrinted(evaluated(0.04, "normal", coverageFactor(0.5, null)), 0.06, 2);
  });
  test("4.4.5: 96 to 104 degrees, all equally likely, gives 2.3", () => {
    expectPrinted(evaluated(4, "rectangular"), 2.3, 1);
  });
  test("4.4.6: the same with the middle the likeliest gives 1.6", () => {
    expectPrinted(evaluated(4, "triangular"), 1.6, 1);
  });
  test("F.2.2.1: the resolution dx of a digital display gives 0.29 dx", () => {
    expectPrinted(evaluated(0.5, "rectangular"), 0.29, 2);
  });
  test("H.1.3.4: a room that cycles through 0.5 degrees gives 0.35 (arcsine)", () => {
    expectPrinted(evaluated(0.5, "u-shaped"), 0.35, 2);
  });
});

describe("JCGM 100:2008, G.4.1: product of three inputs (values from memory)", () => {
  test("relative uncertainties of 0.25, 0.57, 0.82 % from 10, 5, 15 readings give 1.03 %, 19 degrees, U95 2.2 %", () => {
    const found = expanded(
      [
        { label: "X1", value: 0.25, distribution: "standard", degreesOfFreedom: 9 },
        { label: "X2", value: 0.57, distribution: "standard", degreesOfFreedom: 4 },
        { label: "X3", value: 0.82, distribution: "standard", degreesOfFreedom: 14 },
      ],
      { levelOfConfidence: 0.95 },
    );
    expectPrinted(found.combined, 1.03, 2);
    expectPrinted(found.effectiveDegreesOfFreedom ?? 0, 19, 1);
    // The rounded inputs give 18.9987, which the text calls 19.0; cut down to 18, t is 2.10 in place of 2.09.
    expect(found.truncatedDegreesOfFreedom).toBe(18);
    expectPrinted(found.expanded, 2.2, 1);
  });
});

describe("JCGM 100:2008, H.1: end-gauge calibration, in nanometres", () => {
  const lengthNanometres = 50.000623e6;
  const components: UncertaintyComponent[] = [
    { label: "standard's certificate", value: 25, distribution: "standard", degreesOfFreedom: 18 },
    { label: "repeated comparisons", value: 5.8, distribution: "standard", degreesOfFreedom: 24 },
    { label: "comparator, random", value: 3.9, distribution: "standard", degreesOfFreedom: 5 },
    { label: "comparator, systematic", value: 6.7, distribution: "standard", degreesOfFreedom: 8 },
    {
      label: "difference of expansion",
      value: 1e-6,
      distribution: "rectangular",
      sensitivity: -lengthNanometres * 0.1,
      degreesOfFreedom: 50,
    },
    {
      label: "difference of temperature",
      value: 0.05,
      distribution: "rectangular",
      sensitivity: -lengthNanometres * 11.5e-6,
      degreesOfFreedom: 2,
    },
  ];

  test("the parts: comparison 9.7, expansion 2.9, temperature 16.6", () => {
    expectPrinted(combineUncertainty(components.slice(1, 4)).combined, 9.7, 1);
    const { contributions } = combineUncertainty(components);
    expectPrinted(Math.abs(contributions[4]?.contribution ?? 0), 2.9, 1);
    expectPrinted(Math.abs(contributions[5]?.contribution ?? 0), 16.6, 1);
  });

  test("combined 32, effective degrees of freedom 16, t99 2.92, expanded 93", () => {
    const found = expanded(components, { levelOfConfidence: 0.99 });
    expectPrinted(found.combined, 32, 0);
    expect(found.truncatedDegreesOfFreedom).toBe(16);
    expectPrinted(found.coverageFactor, 2.92, 2);
    // H.1.6 multiplies the rounded 32 by 2.92; the unrounded product is 92.5.
    expectPrinted(Math.round(found.combined) * found.coverageFactor, 93, 0);
    expectPrinted(found.expanded, 92.5, 1);
  });

  test("with the second-order term 11.7 the combined uncertainty is 34", () => {
    const secondOrder: UncertaintyComponent = {
      label: "second order",
      value: 11.7,
      distribution: "standard",
    };
    expectPrinted(combineUncertainty([...components, secondOrder]).combined, 34, 0);
  });
});

describe("JCGM 100:2008, H.2: resistance and reactance from correlated means", () => {
  const volts = [5.007, 4.994, 5.005, 4.99, 4.999];
  const amperes = [19.663e-3, 19.639e-3, 19.64e-3, 19.685e-3, 19.678e-3];
  const radians = [1.0456, 1.0438, 1.0468, 1.0428, 1.0433];
  const mean = (values: number[]) => values.reduce((sum, value) => sum + value, 0) / values.length;
  /** Covariance of two means by its definition, JCGM 100 equation (17). */
  const covariance = (a: number[], b: number[]) =>
    a.reduce((sum, value, i) => sum + (value - mean(a)) * ((b[i] ?? 0) - mean(b)), 0) /
    (a.length * (a.length - 1));
  const spread = (values: number[]) => Math.sqrt(covariance(values, values));
  const coefficient = (a: number[], b: number[]) => covariance(a, b) / (spread(a) * spread(b));
  const [v, i, phi] = [mean(volts), mean(amperes), mean(radians)];
  const correlations = [
    { between: ["V", "I"] as const, coefficient: coefficient(volts, amperes) },
    { between: ["V", "phi"] as const, coefficient: coefficient(volts, radians) },
    { between: ["I", "phi"] as const, coefficient: coefficient(amperes, radians) },
  ];
  const combined = (slopes: { V: number; I: number; phi: number }) =>
    combineUncertainty(
      [
        { label: "V", value: spread(volts), distribution: "standard", sensitivity: slopes.V },
        { label: "I", value: spread(amperes), distribution: "standard", sensitivity: slopes.I },
        { label: "phi", value: spread(radians), distribution: "standard", sensitivity: slopes.phi },
      ],
      correlations,
    ).combined;
  const r = (v / i) * Math.cos(phi);
  const x = (v / i) * Math.sin(phi);
  const z = v / i;

  test("Table H.2: correlations -0.36, 0.86, -0.65", () => {
    expectPrinted(correlations[0]?.coefficient ?? 0, -0.36, 2);
    expectPrinted(correlations[1]?.coefficient ?? 0, 0.86, 2);
    expectPrinted(correlations[2]?.coefficient ?? 0, -0.65, 2);
  });
  test("R 127.732 ohm, u 0.071", () => {
    expectPrinted(r, 127.732, 3);
    expectPrinted(combined({ V: r / v, I: -r / i, phi: -x }), 0.071, 3);
  });
  test("X 219.847 ohm, u 0.296 unrounded inputs (0.295 in print)", () => {
    expectPrinted(x, 219.847, 3);
    expectPrinted(combined({ V: x / v, I: -x / i, phi: r }), 0.296, 3);
  });
  test("Z 254.260 ohm, u 0.236", () => {
    expectPrinted(z, 254.26, 3);
    expectPrinted(combined({ V: z / v, I: -z / i, phi: 0 }), 0.236, 3);
  });
});

describe("JCGM 100:2008, H.3.4: a correction read from a fitted line", () => {
  test("b(30) with intercept u 0.0029, slope u 0.00067 over 10 degrees, correlation -0.930: u 0.0041", () => {
    const found = combineUncertainty(
      [
        { label: "intercept", value: 0.0029, distribution: "standard" },
        { label: "slope", value: 0.00067, distribution: "standard", sensitivity: 10 },
      ],
      [{ between: ["intercept", "slope"], coefficient: -0.93 }],
    );
    expectPrinted(found.combined, 0.0041, 4);
  });
});

describe("EA-4/02, worked examples", () => {
  test("S3, a 10 kilo-ohm standard resistor, in milliohms: u 8.33, U(k = 2) 17", () => {
    const found = expanded(
      [
        { label: "reference", value: 5, distribution: "normal", divisor: 2 },
        { label: "drift since calibration", value: 10, distribution: "rectangular" },
        { label: "temperature of the reference", value: 2.75, distribution: "rectangular" },
        { label: "temperature of the unknown", value: 5.5, distribution: "rectangular" },
        { label: "parasitics", value: 1e-6, distribution: "triangular", sensitivity: 1e7 },
        { label: "ratio of the readings", value: 0.07e-6, distribution: "standard", sensitivity: 1e7 },
      ],
      { coverageFactor: 2 },
    );
    expectPrinted(found.combined, 8.33, 2);
    expectPrinted(found.expanded, 17, 0);
  });

  test("S2, a 10 kg weight (from memory), in milligrams: U(k = 2) 59", () => {
    const found = expanded(
      [
        { label: "standard", value: 45, distribution: "normal", divisor: 2 },
        { label: "drift of the standard", value: 15, distribution: "rectangular" },
        { label: "difference of the weights", value: 25, distribution: "standard", divisor: Math.sqrt(3) },
        { label: "balance", value: 10, distribution: "rectangular" },
        { label: "buoyancy", value: 10, distribution: "rectangular" },
      ],
      { coverageFactor: 2 },
    );
    expectPrinted(found.contributions[2]?.contribution ?? 0, 14.4, 1);
    expectPrinted(Math.round(found.combined * 10) / 5, 59, 0);
  });
});

describe("ratios", () => {
  test("common practice, no source: tolerance 0.2 % against a standard of 0.04 % is 5 to 1, by accuracies", () => {
    expect(testAccuracyRatio(0.2, 0.04)).toEqual({ name: "test accuracy ratio", ratio: 5 });
  });
  test("ANSI/NCSL Z540.3, 5.3 b as quoted: 4 to 1 is a ratio to the expanded uncertainty at k = 2", () => {
    expect(testUncertaintyRatio(1, 0.25, 2)).toMatchObject({ kind: "ratio", ratio: 4 });
    expect(testUncertaintyRatio(1, 0.25, 3)).toMatchObject({ kind: "other-coverage-factor" });
  });
});
