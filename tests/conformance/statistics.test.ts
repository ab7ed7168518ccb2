import { grubbsCriticalValue } from "@sealbook/metrology/statistics/grubbs-critical-value";
import { grubbsTest } from "@sealbook/metrology/statistics/grubbs-test";
import { normalCdf } from "@sealbook/metrology/statistics/normal-cdf";
import { normalQuantile } from "@sealbook/metrology/statistics/normal-quantile";
import { studentTCdf } from "@sealbook/metrology/statistics/student-t-cdf";
import { studentTQuantile } from "@sealbook/metrology/statistics/student-t-quantile";
import { summaryOfValues } from "@sealbook/metrology/statistics/summary-of-values";
import { describe, expect, test } from "vitest";
import { lew, mavro } from "./statistics-strd-data.ts";

const relativeError = (got: number, want: number) => Math.abs(got - want) / Math.abs(want);

/** NumAcc2, 3 and 4 of NIST StRD: one middle value, then 500 each of the value below and above it, in turn. */
const alternating = (middle: string, below: string, above: string) => [
  middle,
  ...Array.from({ length: 1000 }, (_, index) => (index % 2 === 0 ? below : above)),
];

describe("NIST StRD, univariate summary statistics", () => {
  // Certified values: GSL statistics/test_nist.c and Apache Commons Math test resources; NumAcc2 and NumAcc4 from
  // memory, where they are exact by construction.
  test.each([
    { name: "Lew", values: lew, mean: "-177.435", deviation: "277.332168044316" },
    { name: "Mavro", values: mavro, mean: "2.001856", deviation: "0.000429123454003053" },
    { name: "NumAcc1", values: ["10000001", "10000003", "10000002"], mean: "10000002", deviation: "1" },
    { name: "NumAcc2", values: alternating("1.2", "1.1", "1.3"), mean: "1.2", deviation: "0.1" },
    {
      name: "NumAcc3",
      values: alternating("1000000.2", "1000000.1", "1000000.3"),
      mean: "1000000.2",
      deviation: "0.1",
    },
    {
      name: "NumAcc4",
      values: alternating("10000000.2", "10000000.1", "10000000.3"),
      mean: "10000000.2",
      deviation: "0.1",
    },
  ])("$name: mean exact, standard deviation to 14 digits", ({ values, mean, deviation }) => {
    const found = summaryOfValues(values);
    expect(found.mean.equals(mean)).toBe(true);
    expect(relativeError(Number(found.standardDeviation), Number(deviation))).toBeLessThan(1e-14);
    // The same readings as JSON numbers mean the same decimals.
    const fromNumbers = summaryOfValues(values.map(Number));
    expect(fromNumbers.mean.equals(found.mean)).toBe(true);
    expect(String(fromNumbers.standardDeviation)).toBe(String(found.standardDeviation));
  });
});

describe("JCGM 100:2008, Table G.2: t for a level of confidence p", () => {
  // Columns 95 % and 99 % for 1, 2, 5, 10, 16, 20, 50 as read; the other columns and rows from memory.
  // The levels of one, two and three standard deviations of a normal distribution stand in the table rounded.
  const levels = [0.6826894921, 0.9, 0.95, 0.9544997361, 0.99, 0.9973002039];
  const rows: [number, number[]][] = [
    [1, [1.84, 6.31, 12.71, 13.97, 63.66, 235.8]],
    [2, [1.32, 2.92, 4.3, 4.53, 9.92, 19.21]],
    [3, [1.2, 2.35, 3.18, 3.31, 5.84, 9.22]],
    [4, [1.14, 2.13, 2.78, 2.87, 4.6, 6.62]],
    [5, [1.11, 2.02, 2.57, 2.65, 4.03, 5.51]],
    [6, [1.09, 1.94, 2.45, 2.52, 3.71, 4.9]],
    [8, [1.07, 1.86, 2.31, 2.37, 3.36, 4.28]],
    [10, [1.05, 1.81, 2.23, 2.28, 3.17, 3.96]],
    [16, [1.03, 1.75, 2.12, 2.17, 2.92, 3.54]],
    [20, [1.03, 1.72, 2.09, 2.13, 2.85, 3.42]],
    [50, [1.01, 1.68, 2.01, 2.05, 2.68, 3.16]],
    [Number.POSITIVE_INFINITY, [1, 1.645, 1.96, 2, 2.576, 3]],
  ];
  test.each(rows)("%s degrees of freedom", (degreesOfFreedom, printed) => {
    levels.forEach((level, column) => {
      const t = studentTQuantile((1 + level) / 2, degreesOfFreedom);
      // Table G.2 prints two decimals, three in its last line.
      expect(Math.abs(t - (printed[column] ?? Number.NaN))).toBeLessThan(0.0051);
    });
  });
});

describe("Student's t where it has a closed form", () => {
  test.each([-40, -3, -0.5, 0, 0.2, 1, 2.5, 70])("distribution function at %s", (t) => {
    // Cauchy distribution (1 degree of freedom), and the elementary integrals for 2 and 4.
    expect(studentTCdf(t, 1)).toBeCloseTo(0.5 + Math.atan(t) / Math.PI, 14);
    expect(studentTCdf(t, 2)).toBeCloseTo(0.5 + t / (2 * Math.sqrt(2 + t * t)), 14);
    const sine = t / Math.sqrt(4 + t * t);
    expect(studentTCdf(t, 4)).toBeCloseTo(0.5 + (sine * (1 + (1 - sine * sine) / 2)) / 2, 14);
  });

  test("approaches the normal distribution for many degrees of freedom, to the first term of its expansion", () => {
    // Abramowitz and Stegun 26.7.5: t = z + (z^3 + z) / (4 nu) + ...
    const z = 1.9599639845400545;
    const nu = 1e8;
    expect(studentTQuantile(0.975, nu)).toBeCloseTo(z + (z ** 3 + z) / (4 * nu), 12);
    expect(studentTCdf(z + (z ** 3 + z) / (4 * nu), nu)).toBeCloseTo(0.975, 13);
  });
});

describe("normal distribution", () => {
  // mpmath 1.3, erfinv at 50 digits.
  test.each([
    [0.001, -3.090232306167813],
    [0.025, -1.9599639845400543],
    [0.2, -0.8416212335729142],
    [0.975, 1.9599639845400543],
  ])("quantile of %s", (p, z) => {
    expect(normalQuantile(p)).toBeCloseTo(z, 12);
    expect(normalCdf(z)).toBeCloseTo(p, 14);
  });

  // JCGM 106:2012, Table 1 (one-sided conformance probability and z), from memory.
  test.each([
    [0.8, 0.84],
    [0.9, 1.28],
    [0.95, 1.64],
    [0.99, 2.33],
    [0.999, 3.09],
  ])("JCGM 106 Table 1: conformance %s needs z %s", (p, printed) => {
    expect(Math.abs(normalQuantile(p) - printed)).toBeLessThan(0.0051);
  });
});

describe("Grubbs' test", () => {
  test("NIST/SEMATECH e-Handbook 1.3.5.17.1: uranium readings of Tietjen and Moore", () => {
    const found = grubbsTest([199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57], {
      end: "largest",
    });
    // Printed: G 2.4687, critical value 2.032, the largest is an outlier.
    expect(found).toMatchObject({ kind: "tested", suspectIndex: 7, suspectValue: 245.57, exceeds: true });
    expect(found.kind === "tested" && found.statistic).toBeCloseTo(2.46876461121245, 10);
    expect(found.kind === "tested" && found.criticalValue).toBeCloseTo(2.032, 3);
  });

  test("ASTM E178, breaking strength of copper wire (recalled): 2.39 against 2.18 at 5 % and 2.41 at 1 %", () => {
    const strengths = [568, 570, 570, 570, 572, 572, 572, 578, 584, 596];
    const atFive = grubbsTest(strengths, { end: "largest" });
    const atOne = grubbsTest(strengths, { end: "largest", significance: 0.01 });
    expect(atFive).toMatchObject({ suspectValue: 596, exceeds: true });
    expect(atOne).toMatchObject({ suspectValue: 596, exceeds: false });
    expect(atFive.kind === "tested" && atFive.statistic).toBeCloseTo(2.39, 2);
    expect(atFive.kind === "tested" && atFive.criticalValue).toBeCloseTo(2.18, 2);
    expect(atOne.kind === "tested" && atOne.criticalValue).toBeCloseTo(2.41, 2);
  });

  // Grubbs 1969, Table 1, one-sided 5 % (recalled, as printed with three decimals).
  test.each([
    [3, 1.153],
    [4, 1.463],
    [5, 1.672],
    [8, 2.032],
    [10, 2.176],
    [20, 2.557],
  ])("critical value for %s values is %s", (count, printed) => {
    expect(Math.abs(grubbsCriticalValue(count, 0.05, "largest") - printed)).toBeLessThan(0.0015);
  });
});
