import { andersonDarling } from "@sealbook/metrology/sampling/evaluation/anderson-darling";
import { clopperPearson } from "@sealbook/metrology/sampling/evaluation/clopper-pearson";
import { evaluateSample } from "@sealbook/metrology/sampling/evaluation/evaluate-sample";
import { finiteLotLimits } from "@sealbook/metrology/sampling/evaluation/finite-lot-limits";
import { normalPlot } from "@sealbook/metrology/sampling/evaluation/normal-plot";
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { z } from "zod";
import { readOpenCases } from "./read-data.ts";

const numbers = z.record(z.string(), z.unknown());

describe("exact confidence limits from a count", () => {
  const cases = readOpenCases("intervals", numbers, numbers, "open-cp");
  it("has three cases", () => expect(cases).toHaveLength(3));
  it.each(cases)("$id: $source", ({ input, expected }) => {
    const limits = clopperPearson(input.x as number, input.n as number, input.confidence as number);
    expect(Math.abs(limits.lower - (expected.lower as number))).toBeLessThanOrEqual(1e-12);
    expect(Math.abs(limits.upper - (expected.upper as number))).toBeLessThanOrEqual(1e-12);
    if (Array.isArray(expected.printed)) {
      expect(limits.lower).toBeCloseTo(expected.printed[0], 7);
      expect(limits.upper).toBeCloseTo(expected.printed[1], 7);
    }
  });

  it("follows the closed forms at the ends: none found gives 1 - (alpha/2)^(1/n), all found its mirror", () => {
    for (const n of [1, 5, 80, 1000]) {
      expect(clopperPearson(0, n, 0.95)).toMatchObject({ fraction: 0, lower: 0 });
      expect(clopperPearson(0, n, 0.95).upper).toBeCloseTo(1 - 0.025 ** (1 / n), 13);
      expect(clopperPearson(n, n, 0.95)).toMatchObject({ fraction: 1, upper: 1 });
      expect(clopperPearson(n, n, 0.95).lower).toBeCloseTo(0.025 ** (1 / n), 13);
      expect(clopperPearson(0, n, 0.95, "upper").upper).toBeCloseTo(1 - 0.05 ** (1 / n), 13);
      expect(clopperPearson(n, n, 0.95, "lower")).toMatchObject({ upper: 1 });
      expect(clopperPearson(n, n, 0.95, "upper")).toMatchObject({ lower: 0, upper: 1 });
    }
  });

  const finite = readOpenCases("intervals", numbers, numbers, "open-hyp");
  it("has two cases of a finite lot", () => expect(finite).toHaveLength(2));
  it.each(finite)("$id: $source", ({ input, expected }) => {
    const confidence = 1 - 2 * (input.alpha_each_side as number);
    const limits = finiteLotLimits(input.x as number, input.n as number, input.N as number, confidence);
    expect(limits).toEqual({ lower: expected.D_lower, upper: expected.D_upper });
  });

  it("covers a lot's true count at least as often as promised (exact, whole enumeration of small lots)", () => {
    const choose = (n: number, k: number) => {
      let result = k < 0 || k > n ? 0 : 1;
      for (let i = 1; i <= k && k <= n; i += 1) result = (result * (n - i + 1)) / i;
      return result;
    };
    for (const [lotSize, n] of [
      [20, 5],
      [30, 10],
      [12, 12],
    ] as const) {
      for (let d = 0; d <= lotSize; d += 1) {
        let covered = 0;
        for (let x = Math.max(0, n - (lotSize - d)); x <= Math.min(n, d); x += 1) {
          const { lower, upper } = finiteLotLimits(x, n, lotSize, 0.9);
          if (lower <= d && d <= upper)
            covered += (choose(d, x) * choose(lotSize - d, n - x)) / choose(lotSize, n);
        }
        expect(covered, `N ${lotSize}, n ${n}, D ${d}`).toBeGreaterThanOrEqual(0.9 - 1e-12);
      }
    }
  });

  it("knows the count when the whole lot was inspected", () => {
    expect(finiteLotLimits(3, 40, 40, 0.95)).toEqual({ lower: 3, upper: 3 });
  });

  it("narrows as the sample grows into its lot, and stays inside the limits of a process", () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 200 }), fc.integer({ min: 0, max: 100 }), (n, percent) => {
        const x = Math.floor((n * percent) / 100);
        const process = clopperPearson(x, n, 0.95);
        const lot = finiteLotLimits(x, n, 100_000, 0.95);
        expect(lot.lower / 100_000).toBeGreaterThanOrEqual(process.lower - 2e-3);
        expect(lot.upper / 100_000).toBeLessThanOrEqual(process.upper + 2e-3);
      }),
      { numRuns: 60, seed: 20260115 },
    );
  });

  it("refuses what is no count", () => {
    expect(() => clopperPearson(6, 5, 0.95)).toThrow(RangeError);
    expect(() => clopperPearson(1, 5, 1)).toThrow(RangeError);
    expect(() => clopperPearson(0, 0, 0.95)).toThrow(RangeError);
    expect(() => finiteLotLimits(1, 6, 5, 0.95)).toThrow(RangeError);
    expect(() => finiteLotLimits(3, 2, 5, 0.95)).toThrow(RangeError);
    expect(() => finiteLotLimits(1, 2, 5, 0)).toThrow(RangeError);
  });
});

describe("normality (Anderson-Darling)", () => {
  it("reproduces the statistic and p-value of the weights of Shapiro and Wilk (1965) by R nortest::ad.test", () => {
    const [one] = readOpenCases("normality", numbers, numbers, "sw-weights");
    const result = andersonDarling(z.array(z.number()).parse(one?.input.data));
    if (result.kind !== "tested") throw new Error(result.reason);
    expect(result.statistic).toBeCloseTo(one?.expected.AD_A2 as number, 10);
    expect(result.adjusted).toBeCloseTo(one?.expected.AD_A2_star as number, 10);
    expect(result.pValue).toBeCloseTo(one?.expected.AD_p as number, 10);
  });

  it("agrees with the critical values of the adjusted statistic: 0.631, 0.752, 0.873, 1.035 (Stephens 1974, from memory)", () => {
    // A sample with a known statistic is scaled to the critical value by choosing its shape; the p-value curve is checked
    // by bisecting between a normal-looking and a strongly skewed sample.
    const shape = (skew: number) =>
      andersonDarling(
        normalPlot(Array.from({ length: 40 }, (_, i) => i)).map(({ quantile }) => Math.exp(skew * quantile)),
      );
    for (const [critical, p] of [
      [0.631, 0.1],
      [0.752, 0.05],
      [0.873, 0.025],
      [1.035, 0.01],
    ] as const) {
      let [low, high] = [0.01, 2];
      for (let step = 0; step < 60; step += 1) {
        const middle = (low + high) / 2;
        const result = shape(middle);
        if (result.kind === "tested" && result.adjusted < critical) low = middle;
        else high = middle;
      }
      const found = shape(low);
      if (found.kind !== "tested") throw new Error(found.reason);
      expect(found.adjusted).toBeCloseTo(critical, 9);
      expect(Math.abs(found.pValue - p) / p).toBeLessThan(0.02);
    }
  });

  it("is the same in any order and unit, and has no answer for few or equal values", () => {
    const values = [99.1, 100.4, 100.0, 99.8, 100.9, 99.6, 100.2, 100.1, 99.5];
    const first = andersonDarling(values);
    const turned = andersonDarling([...values].reverse().map((value) => 5 + 2 * value));
    if (first.kind !== "tested" || turned.kind !== "tested") throw new Error("both are testable");
    expect(turned.statistic).toBeCloseTo(first.statistic, 9);
    expect(andersonDarling(values.slice(0, 7))).toEqual({
      kind: "not-testable",
      reason: "fewer-than-eight-values",
    });
    expect(andersonDarling(Array(9).fill(100.1))).toEqual({ kind: "not-testable", reason: "no-spread" });
  });

  it("keeps a p-value between 0 and 1 however far a value strays", () => {
    const result = andersonDarling([...Array.from({ length: 3000 }, (_, i) => (i % 7) / 10), 1e9]);
    if (result.kind !== "tested") throw new Error(result.reason);
    expect(Number.isFinite(result.statistic)).toBe(true);
    expect(result.pValue).toBeGreaterThanOrEqual(0);
    expect(result.pValue).toBeLessThan(1e-20);
  });
});

describe("normal plot", () => {
  it("places values at Filliben's medians (NIST/SEMATECH e-Handbook 1.3.3.21; quantiles by hand for n 3)", () => {
    // 0.5^(1/3) = 0.7937005; its normal quantile is 0.81931 (tables of the normal distribution).
    const plot = normalPlot([3, 1, 2]);
    expect(plot.map(({ value, index }) => [value, index])).toEqual([
      [1, 1],
      [2, 2],
      [3, 0],
    ]);
    expect(plot[2]?.quantile).toBeCloseTo(0.81931, 4);
    expect(plot[1]?.quantile).toBeCloseTo(0, 12);
    expect(plot[0]?.quantile).toBeCloseTo(-0.81931, 4);
    expect(normalPlot([5])).toEqual([{ quantile: 0, value: 5, index: 0 }]);
    expect(normalPlot([])).toEqual([]);
    expect(() => normalPlot([1, Number.NaN])).toThrow(RangeError);
  });
});

describe("the evaluation of a sample", () => {
  it("counts limits as conforming, flags a stray and keeps it", () => {
    // NIST/SEMATECH e-Handbook 1.3.5.17.1 (Tietjen and Moore 1972): 245.57 is an outlier of these eight.
    const values = [199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57];
    const found = evaluateSample(values, { lower: 199.31, upper: 202.18 }, 500);
    expect(found).toMatchObject({
      n: 8,
      nonconforming: 1,
      outlier: { kind: "tested", suspectValue: 245.57, exceeds: true },
    });
    expect(found.estimate).toMatchObject({ kind: "estimate", n: 8 });
    expect(found.fraction.fraction).toBe(1 / 8);
    expect(found.cautions.join(" ")).toContain("Reading 8 (245.57)");
    expect(found.cautions.join(" ")).toContain("do not look normal");
  });

  it("has an outcome for one reading, for equal readings and for all nonconforming", () => {
    const one = evaluateSample([100], { lower: 98, upper: 102 }, 1);
    expect(one).toMatchObject({
      nonconforming: 0,
      lot: { lower: 0, upper: 0 },
      estimate: { kind: "no-estimate" },
      normality: { kind: "not-testable" },
      outlier: { kind: "not-testable" },
    });
    const equal = evaluateSample(["103", "103", "103"], { upper: 102 }, 3);
    expect(equal).toMatchObject({
      nonconforming: 3,
      lot: { lower: 3, upper: 3 },
      estimate: { p: 100, s: 0 },
    });
    expect(equal.fraction.upper).toBe(1);
    expect(() => evaluateSample([], { upper: 1 }, 5)).toThrow(RangeError);
  });
});
