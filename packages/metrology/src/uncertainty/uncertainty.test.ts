import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { combineUncertainty } from "./combine-uncertainty.ts";
import { coverageFactor } from "./coverage-factor.ts";
import { effectiveDegreesOfFreedom } from "./effective-degrees-of-freedom.ts";
import { expandUncertainty } from "./expand-uncertainty.ts";
import { pointBudget } from "./point-budget.ts";
import { standardUncertainty } from "./standard-uncertainty.ts";
import { testAccuracyRatio } from "./test-accuracy-ratio.ts";
import { testUncertaintyRatio } from "./test-uncertainty-ratio.ts";
import { truncateDegreesOfFreedom } from "./truncate-degrees-of-freedom.ts";
import type { UncertaintyComponent } from "./uncertainty-component.ts";

const plain = (
  label: string,
  value: number,
  more: Partial<UncertaintyComponent> = {},
): UncertaintyComponent => ({
  label,
  value,
  distribution: "standard",
  ...more,
});

describe("combined uncertainty", () => {
  const values = fc.array(fc.double({ min: 1e-6, max: 1e6, noNaN: true }), { minLength: 1, maxLength: 8 });

  test("lies between the largest part and the sum of all, and shares add up to the whole", () => {
    fc.assert(
      fc.property(values, (given) => {
        const found = combineUncertainty(given.map((value, i) => plain(`part ${i}`, value)));
        expect(found.combined).toBeGreaterThanOrEqual(Math.max(...given) * (1 - 1e-12));
        expect(found.combined).toBeLessThanOrEqual(
          given.reduce((sum, value) => sum + value, 0) * (1 + 1e-12),
        );
        expect(found.contributions.reduce((sum, part) => sum + part.sharePercent, 0)).toBeCloseTo(100, 9);
      }),
    );
  });

  test("effective degrees of freedom lie between the fewest and the sum of all", () => {
    fc.assert(
      fc.property(
        values,
        fc.array(fc.integer({ min: 1, max: 100 }), { minLength: 8, maxLength: 8 }),
        (given, nu) => {
          const found = combineUncertainty(
            given.map((value, i) => plain(`part ${i}`, value, { degreesOfFreedom: nu[i] ?? 1 })),
          );
          const used = nu.slice(0, given.length);
          const effective = found.effectiveDegreesOfFreedom ?? Number.NaN;
          expect(effective).toBeGreaterThanOrEqual(Math.min(...used) * (1 - 1e-9));
          expect(effective).toBeLessThanOrEqual(used.reduce((sum, each) => sum + each, 0) * (1 + 1e-9));
        },
      ),
    );
  });

  test("fully correlated parts add up; opposed ones cancel", () => {
    const parts = [plain("a", 3), plain("b", 3)];
    const joined = (coefficient: number) =>
      combineUncertainty(parts, [{ between: ["a", "b"], coefficient }]).combined;
    expect(joined(1)).toBe(6);
    expect(joined(-1)).toBe(0);
    expect(joined(0)).toBeCloseTo(Math.sqrt(18), 14);
  });

  test("a budget of nothing but zeros is zero, with no degrees of freedom", () => {
    const found = combineUncertainty([plain("a", 0, { degreesOfFreedom: 3 })]);
    expect(found).toMatchObject({ combined: 0, effectiveDegreesOfFreedom: null });
    expect(found.contributions[0]?.sharePercent).toBe(0);
  });

  test.each([
    ["no components", [], []],
    ["a label used twice", [plain("a", 1), plain("a", 1)], []],
    ["an endless sensitivity", [plain("a", 1, { sensitivity: Number.POSITIVE_INFINITY })], []],
    ["degrees of freedom of zero", [plain("a", 1, { degreesOfFreedom: 0 })], []],
    ["an unknown label", [plain("a", 1), plain("b", 1)], [{ between: ["a", "c"] as const, coefficient: 0 }]],
    ["a label with itself", [plain("a", 1)], [{ between: ["a", "a"] as const, coefficient: 1 }]],
    [
      "a coefficient above 1",
      [plain("a", 1), plain("b", 1)],
      [{ between: ["a", "b"] as const, coefficient: 1.1 }],
    ],
    [
      "a pair given twice",
      [plain("a", 1), plain("b", 1)],
      [
        { between: ["a", "b"] as const, coefficient: 0.1 },
        { between: ["b", "a"] as const, coefficient: 0.1 },
      ],
    ],
    [
      "coefficients that contradict each other",
      [plain("a", 1), plain("b", 1), plain("c", 1)],
      [
        { between: ["a", "b"] as const, coefficient: -1 },
        { between: ["b", "c"] as const, coefficient: -1 },
        { between: ["a", "c"] as const, coefficient: -1 },
      ],
    ],
  ])("refuses %s", (_name, components, correlations) => {
    expect(() => combineUncertainty(components, correlations)).toThrow(RangeError);
  });

  test.each([-1, Number.NaN, Number.POSITIVE_INFINITY])("refuses a component of %s", (value) => {
    expect(() => standardUncertainty(plain("a", value))).toThrow(RangeError);
  });
  test.each([0, -2, Number.NaN])("refuses a divisor of %s", (divisor) => {
    expect(() => standardUncertainty(plain("a", 1, { divisor }))).toThrow(RangeError);
  });
});

describe("degrees of freedom", () => {
  test("refuses what is not positive", () => {
    expect(() => effectiveDegreesOfFreedom([{ contribution: 1, degreesOfFreedom: -1 }])).toThrow(RangeError);
    expect(() => truncateDegreesOfFreedom(0)).toThrow(RangeError);
  });
  test("keeps its digits for very small uncertainties", () => {
    expect(effectiveDegreesOfFreedom([{ contribution: 1e-200, degreesOfFreedom: 9 }])).toBe(9);
  });
  test.each([
    [16.75, 16],
    [0.5, 1],
    [9, 9],
    [8.999999999999998, 9],
    [8.9999, 8],
    [Number.POSITIVE_INFINITY, null],
    [null, null],
  ])("cuts %s down to %s", (given, cut) => {
    expect(truncateDegreesOfFreedom(given)).toBe(cut);
  });
});

describe("expanded uncertainty", () => {
  test("a coverage factor that was agreed is used as it is", () => {
    const found = expandUncertainty([plain("a", 1, { degreesOfFreedom: 2 })], { coverageFactor: 2 });
    expect(found).toMatchObject({
      kind: "expanded",
      coverageFactor: 2,
      expanded: 2,
      levelOfConfidence: null,
    });
  });
  test("correlated inputs need a coverage factor", () => {
    const parts = [plain("a", 1), plain("b", 1)];
    const correlations = [{ between: ["a", "b"] as const, coefficient: 0.5 }];
    expect(expandUncertainty(parts, { levelOfConfidence: 0.95 }, correlations).kind).toBe(
      "coverage-factor-needed",
    );
    expect(expandUncertainty(parts, { coverageFactor: 2 }, correlations)).toMatchObject({
      kind: "expanded",
      effectiveDegreesOfFreedom: null,
    });
  });
  test("grows with the level of confidence and shrinks with the degrees of freedom", () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 60 }),
        fc.double({ min: 0.5, max: 0.99, noNaN: true }),
        (nu, level) => {
          expect(coverageFactor(level + 0.005, nu)).toBeGreaterThan(coverageFactor(level, nu));
          expect(coverageFactor(level, nu + 1)).toBeLessThan(coverageFactor(level, nu));
          expect(coverageFactor(level, null)).toBeLessThan(coverageFactor(level, nu));
        },
      ),
    );
  });
  test.each([0, 1, Number.NaN])("refuses a level of %s", (levelOfConfidence) => {
    expect(() => expandUncertainty([plain("a", 1)], { levelOfConfidence })).toThrow(RangeError);
  });
  test.each([0, -2, Number.NaN, Number.POSITIVE_INFINITY])("refuses a coverage factor of %s", (factor) => {
    expect(() => expandUncertainty([plain("a", 1)], { coverageFactor: factor })).toThrow(RangeError);
  });
});

describe("budget of a test point", () => {
  test("lists what is known, each with its distribution", () => {
    const components = pointBudget({
      certificate: { expandedUncertaintyPercent: 0.02, coverageFactor: 2, degreesOfFreedom: 50 },
      drift: { percentPerYear: 0.01, yearsSinceCalibration: 0.5 },
      countResolution: { counts: 2000 },
      repeatability: { standardDeviationPercent: 0.03, runs: 9 },
      setPoint: [{ label: "power factor 0.5", halfWidth: 0.002, sensitivityPercentPerUnit: 5 }],
    });
    // By hand: 0.02/2; 0.005/root 3; 0.05/root 3; 0.03/3; 0.01/root 3.
    const byHand = [0.01, 0.005 / Math.sqrt(3), 0.05 / Math.sqrt(3), 0.01, 0.01 / Math.sqrt(3)];
    const { contributions, combined } = combineUncertainty(components);
    contributions.forEach((part, i) => {
      expect(part.contribution).toBeCloseTo(byHand[i] ?? Number.NaN, 14);
    });
    expect(combined).toBeCloseTo(Math.sqrt(0.0001 + 0.000025 / 3 + 0.0025 / 3 + 0.0001 + 0.0001 / 3), 14);
    expect(contributions.map(({ degreesOfFreedom }) => degreesOfFreedom)).toEqual([50, null, null, 8, null]);
  });
  test("the certificate alone is enough", () => {
    expect(
      pointBudget({ certificate: { expandedUncertaintyPercent: 0.02, coverageFactor: 2 } }),
    ).toHaveLength(1);
  });
  test("a counter that sees half counts halves the resolution", () => {
    const [, resolution] = pointBudget({
      certificate: { expandedUncertaintyPercent: 0, coverageFactor: 2 },
      countResolution: { counts: 100, resolutionCounts: 0.5 },
    });
    expect(resolution).toMatchObject({ value: 0.5, distribution: "rectangular" });
  });
  test("refuses a gate without counts and the scatter of a single run", () => {
    const certificate = { expandedUncertaintyPercent: 0.02, coverageFactor: 2 };
    expect(() => pointBudget({ certificate, countResolution: { counts: 0 } })).toThrow(RangeError);
    for (const runs of [1, 2.5]) {
      expect(() =>
        pointBudget({ certificate, repeatability: { standardDeviationPercent: 0.1, runs } }),
      ).toThrow(RangeError);
    }
  });
});

describe("ratios", () => {
  test.each([0, -1, Number.NaN, Number.POSITIVE_INFINITY])("refuse %s", (value) => {
    expect(() => testUncertaintyRatio(value, 1, 2)).toThrow(RangeError);
    expect(() => testUncertaintyRatio(1, value, 2)).toThrow(RangeError);
    expect(() => testAccuracyRatio(value, 1)).toThrow(RangeError);
    expect(() => testAccuracyRatio(1, value)).toThrow(RangeError);
  });
});
