import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { Fraction } from "../fraction.ts";
import {
  type Counts,
  counts,
  factor,
  type PercentRegistration,
  percentError,
  percentRegistration,
  wattHours,
  wattHoursPerCount,
} from "../units.ts";
import { averageRegistration } from "./average-registration.ts";
import { evaluatePass } from "./evaluate-pass.ts";
import { percentErrorOf } from "./percent-error-of.ts";
import { registrationFromCounts } from "./registration-from-counts.ts";
import { registrationOfError } from "./registration-of-error.ts";
import type { PlanPoint, RunEntry } from "./test-terms.ts";

/** A positive decimal with two places, and the whole number of hundredths that it stands for. */
const hundredths = (min: number, max: number) => fc.integer({ min, max });
const textOf = (n: number) => `${Math.trunc(n / 100)}.${String(n % 100).padStart(2, "0")}`;

const roles = ["full-load", "light-load", "power-factor"] as const;

describe("registration", () => {
  const run = (n: Counts, energy: number, constant: number, seen: number) =>
    registrationFromCounts({
      counts: n,
      whPerCount: wattHoursPerCount(textOf(constant)),
      circuitFactor: factor(BigInt(seen)),
      standardEnergy: wattHours(textOf(energy)),
    });
  const positive = hundredths(1, 10_000_000);

  it("scales with the counts and the constant, and inversely with the energy and the factor", () => {
    fc.assert(
      fc.property(
        positive,
        positive,
        positive,
        fc.integer({ min: 1, max: 4 }),
        fc.integer({ min: 2, max: 9 }),
        (n, w, k, m, times) => {
          const once = run(counts(textOf(n)), w, k, m);
          expect(run(counts(textOf(n * times)), w, k, m).equals(once.times(BigInt(times)))).toBe(true);
          expect(run(counts(textOf(n)), w, k * times, m).equals(once.times(BigInt(times)))).toBe(true);
          expect(run(counts(textOf(n)), w * times, k, m).equals(once.dividedBy(BigInt(times)))).toBe(true);
          expect(run(counts(textOf(n)), w, k, m * times).equals(once.dividedBy(BigInt(times)))).toBe(true);
        },
      ),
    );
  });

  it("is 100 when the meter counts what passed, and agrees with whole-number arithmetic against any limit", () => {
    fc.assert(
      fc.property(
        positive,
        positive,
        positive,
        fc.integer({ min: 1, max: 4 }),
        hundredths(9_000, 11_000),
        (n, w, k, m, limit) => {
          const registration = run(counts(textOf(n)), w, k, m);
          // R <= L is 100 n K <= L m W: in hundredths 100 n k 100 <= l m w 100, and the scales cancel to this.
          const within = 100n * BigInt(n) * BigInt(k) <= BigInt(limit) * BigInt(m) * BigInt(w);
          expect(registration.isGreaterThan(textOf(limit))).toBe(!within);
          const passed = wattHours(counts(textOf(n)).times(textOf(k)).dividedBy(BigInt(m)));
          const exact = registrationFromCounts({
            counts: counts(textOf(n)),
            whPerCount: wattHoursPerCount(textOf(k)),
            circuitFactor: factor(BigInt(m)),
            standardEnergy: passed,
          });
          expect(exact.equals("100")).toBe(true);
        },
      ),
    );
  });
});

describe("averages", () => {
  const weight = hundredths(1, 1_000);
  const registration = hundredths(9_000, 11_000);
  const three = <Value>(value: fc.Arbitrary<Value>) => fc.tuple(value, value, value);
  const rule = (weights: readonly [number, number, number]) => ({
    weights: roles.map((role, index) => ({ role, weight: textOf(weights[index] ?? 0) })),
  });
  const points = (values: readonly [number, number, number]) =>
    Object.fromEntries(roles.map((role, index) => [role, percentRegistration(textOf(values[index] ?? 0))]));
  const averageOf = (
    weights: readonly [number, number, number],
    values: Partial<Record<(typeof roles)[number], PercentRegistration>>,
  ) => {
    const found = averageRegistration(rule(weights), values);
    if (found.kind !== "average") {
      throw new Error("an average was expected");
    }
    return found.registration;
  };

  it("do not change when every weight is multiplied, nor leave the range of their points", () => {
    fc.assert(
      fc.property(
        three(weight),
        three(registration),
        fc.integer({ min: 2, max: 50 }),
        (weights, values, times) => {
          const once = averageOf(weights, points(values));
          const [a, b, c] = weights;
          expect(averageOf([a * times, b * times, c * times], points(values)).equals(once)).toBe(true);
          expect(once.isLessThan(textOf(Math.min(...values)))).toBe(false);
          expect(once.isGreaterThan(textOf(Math.max(...values)))).toBe(false);
        },
      ),
    );
  });

  it("of equal registrations are that registration; of errors are the average of registrations less 100", () => {
    fc.assert(
      fc.property(three(weight), three(registration), registration, (weights, values, equal) => {
        expect(averageOf(weights, points([equal, equal, equal])).equals(textOf(equal))).toBe(true);
        const errors = values.map((value) => percentError(Fraction.of(textOf(value)).minus("100")));
        const fromErrors = Object.fromEntries(
          errors.map((error, index) => [roles[index], registrationOfError(error)]),
        );
        const expected = percentErrorOf(averageOf(weights, points(values)));
        expect(percentErrorOf(averageOf(weights, fromErrors)).equals(expected)).toBe(true);
      }),
    );
  });

  it("by method 4 never disagree with whole-number arithmetic at a limit of 102 on a 0.01 grid", () => {
    fc.assert(
      fc.property(
        hundredths(10_100, 10_300),
        hundredths(10_100, 10_300),
        hundredths(-3, 3),
        (full, light, off) => {
          // The power-factor point is chosen so that 4 FL + 2 LL + PF is 7 x 102 and a few hundredths.
          const lagging = 7 * 10_200 - 4 * full - 2 * light + off;
          fc.pre(lagging > 0);
          const found = averageOf([400, 200, 100], points([full, light, lagging]));
          expect(found.isGreaterThan("102")).toBe(off > 0);
          expect(found.equals("102")).toBe(off === 0);
        },
      ),
      { numRuns: 1_000 },
    );
  });
});

describe("an evaluation", () => {
  const point: PlanPoint = {
    key: "FL",
    label: "Full load",
    loadPercent: "100",
    powerFactor: "1",
    powerFactorSense: "unity",
    quantity: "Wh",
    direction: "delivered",
    circuits: "series",
    counts: "10",
    countConstant: "Kh",
    runs: 1,
    role: "full-load",
    limits: { "in-service": { minPercent: "98", maxPercent: "102", source: "house limit" } },
  };
  const typed = fc.oneof(
    fc.string({ maxLength: 45 }),
    fc.constantFrom("", " ", "0", "-1", "1,5", "6.012", "100", "1e9", "NaN", "9".repeat(50)),
    hundredths(1, 20_000).map(textOf),
  );
  const anyRun: fc.Arbitrary<RunEntry> = fc.oneof(
    fc.record({ kind: fc.constant("counts" as const), counts: typed, standardEnergy: typed }),
    fc.record({
      kind: fc.constant("revolutions" as const),
      counts: typed,
      standardRevolutions: typed,
      standardConstant: typed,
    }),
    fc.record({ kind: fc.constant("registration" as const), registrationPercent: typed }),
  );

  it("throws for no entry whatever, passes only what is within its limits, and says which field it refuses", () => {
    fc.assert(
      fc.property(fc.array(anyRun, { maxLength: 3 }), typed, typed, (runs, voltage, kh) => {
        const result = evaluatePass({
          meter: { form: "9S", kh, kt: null },
          points: [point],
          average: null,
          averageLimits: null,
          decisionRule: { kind: "simple", source: "house rule" },
          occasion: "in-service",
          creepAllowed: false,
          standard: null,
          volts: voltage,
          testAmperes: "2.5",
          entry: { points: [{ pointKey: "FL", runs }], creep: "none" },
        });
        const [evaluated] = result.points;
        const mean = Number(evaluated?.meanPercent);
        if (result.verdict === "pass") {
          expect(mean).toBeGreaterThanOrEqual(98);
          expect(mean).toBeLessThanOrEqual(102);
          expect(result.refusals).toEqual([]);
        }
        if (result.verdict === "fail") {
          expect(mean < 98 || mean > 102).toBe(true);
        }
        if (evaluated?.runs.some(({ state }) => state === "refused")) {
          expect(result.refusals.length).toBeGreaterThan(0);
          expect(result.verdict).not.toBe("pass");
        }
        expect(JSON.parse(JSON.stringify(result))).toEqual(result);
      }),
      { numRuns: 500 },
    );
  });
});
