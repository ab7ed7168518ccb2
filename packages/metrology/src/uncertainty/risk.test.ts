import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { globalRisk } from "./global-risk.ts";
import { guardBand } from "./guard-band.ts";
import { guardBandForFalseAccept } from "./guard-band-for-false-accept.ts";
import { integrate } from "./integrate.ts";
import { specificFalseAccept } from "./specific-false-accept.ts";
import { spreadOfObservedReliability } from "./spread-of-observed-reliability.ts";
import { spreadOfReliability } from "./spread-of-reliability.ts";

const limits = { lower: 98, upper: 102 };

describe("specific risk", () => {
  test("at either limit of a wide tolerance it is one half", () => {
    expect(specificFalseAccept(98, 0.01, limits).falseAcceptProbability).toBeCloseTo(0.5, 14);
    expect(specificFalseAccept(102, 0.01, limits).falseAcceptProbability).toBeCloseTo(0.5, 14);
  });
  test("without uncertainty it is certain, and the limits are inclusive", () => {
    expect(specificFalseAccept(102, 0, limits)).toEqual({
      conformanceProbability: 1,
      falseAcceptProbability: 0,
    });
    expect(specificFalseAccept(97.99, 0, limits)).toEqual({
      conformanceProbability: 0,
      falseAcceptProbability: 1,
    });
  });
  test("grows towards the nearer limit", () => {
    fc.assert(
      fc.property(
        fc.double({ min: 100, max: 103, noNaN: true }),
        fc.double({ min: 0.01, max: 1, noNaN: true }),
        (measured, u) => {
          const here = specificFalseAccept(measured, u, limits).falseAcceptProbability;
          const further = specificFalseAccept(measured + 0.1, u, limits).falseAcceptProbability;
          expect(further).toBeGreaterThanOrEqual(here);
        },
      ),
    );
  });
  test("refuses missing or crossed limits and impossible numbers", () => {
    expect(() => specificFalseAccept(1, 1, { lower: null, upper: null })).toThrow(RangeError);
    expect(() => specificFalseAccept(1, 1, { lower: 2, upper: 1 })).toThrow(RangeError);
    expect(() => specificFalseAccept(1, -1, limits)).toThrow(RangeError);
    expect(() => specificFalseAccept(1, Number.POSITIVE_INFINITY, limits)).toThrow(RangeError);
    expect(() => specificFalseAccept(Number.NaN, 1, limits)).toThrow(RangeError);
  });
});

describe("global risk", () => {
  const spread = fc.double({ min: 0.1, max: 3, noNaN: true });
  const uncertainty = fc.double({ min: 0.01, max: 2, noNaN: true });
  const mean = fc.double({ min: 97, max: 103, noNaN: true });

  test("shares add up: accepted = conforming + false accepts - false rejects", () => {
    fc.assert(
      fc.property(mean, spread, uncertainty, (centre, deviation, u) => {
        const risk = globalRisk({ mean: centre, standardDeviation: deviation }, u, limits);
        const conforming = 1 - risk.nonconformingProbability;
        expect(risk.acceptedProbability).toBeCloseTo(
          conforming + risk.falseAcceptProbability - risk.falseRejectProbability,
          11,
        );
      }),
    );
  });
  test("agrees with the slow definition: a fine sum over the population", () => {
    fc.assert(
      fc.property(mean, spread, uncertainty, (centre, deviation, u) => {
        const risk = globalRisk({ mean: centre, standardDeviation: deviation }, u, limits);
        const steps = 20_000;
        const from = centre - 9 * deviation;
        const width = (18 * deviation) / steps;
        let falseAccept = 0;
        for (let i = 0; i < steps; i += 1) {
          const x = from + (i + 0.5) * width;
          if (x >= limits.lower && x <= limits.upper) continue;
          const density =
            Math.exp(-0.5 * ((x - centre) / deviation) ** 2) / (deviation * Math.sqrt(2 * Math.PI));
          falseAccept += density * width * specificFalseAccept(x, u, limits).conformanceProbability;
        }
        // The sum misses the limits by up to one step, where density times acceptance is at most one half over it.
        expect(Math.abs(risk.falseAcceptProbability - falseAccept)).toBeLessThan((2 * width) / deviation);
      }),
      { numRuns: 20 },
    );
  });
  test("a guard band lowers false accepts and raises false rejects", () => {
    fc.assert(
      fc.property(
        spread,
        uncertainty,
        fc.double({ min: 0.01, max: 1.5, noNaN: true }),
        (deviation, u, band) => {
          const population = { mean: 100, standardDeviation: deviation };
          const simple = globalRisk(population, u, limits);
          const guarded = globalRisk(population, u, limits, { lower: 98 + band, upper: 102 - band });
          expect(guarded.falseAcceptProbability).toBeLessThanOrEqual(simple.falseAcceptProbability);
          expect(guarded.falseRejectProbability).toBeGreaterThanOrEqual(simple.falseRejectProbability);
        },
      ),
    );
  });
  test("one limit alone: half of a centred population does not conform to its own mean", () => {
    const risk = globalRisk({ mean: 0, standardDeviation: 1 }, 0.5, { lower: null, upper: 0 });
    expect(risk.nonconformingProbability).toBeCloseTo(0.5, 13);
    // Bivariate normal orthant: arctan(u / sigma) / (2 pi) on either side.
    expect(risk.falseAcceptProbability).toBeCloseTo(Math.atan(0.5) / (2 * Math.PI), 13);
    expect(risk.falseRejectProbability).toBeCloseTo(Math.atan(0.5) / (2 * Math.PI), 13);
    const mirrored = globalRisk({ mean: 0, standardDeviation: 1 }, 0.5, { lower: 0, upper: null });
    expect(mirrored.falseAcceptProbability).toBeCloseTo(risk.falseAcceptProbability, 13);
  });
  test("nothing accepted leaves no conditional share", () => {
    const risk = globalRisk({ mean: 0, standardDeviation: 1 }, 0.1, { lower: 100, upper: 101 });
    expect(risk).toMatchObject({ acceptedProbability: 0, conditionalFalseAcceptProbability: null });
  });
  test.each([0, -1, Number.NaN, Number.POSITIVE_INFINITY])(
    "refuses a spread or uncertainty of %s",
    (value) => {
      expect(() => globalRisk({ mean: 0, standardDeviation: value }, 1, limits)).toThrow(RangeError);
      expect(() => globalRisk({ mean: 0, standardDeviation: 1 }, value, limits)).toThrow(RangeError);
    },
  );
  test("refuses a mean that is no number", () => {
    expect(() => globalRisk({ mean: Number.NaN, standardDeviation: 1 }, 1, limits)).toThrow(RangeError);
  });
});

describe("guard bands", () => {
  test("no wider than needed: the bound is met, and just missed by a hair less", () => {
    const population = { mean: 100, standardDeviation: 1.2 };
    const width = guardBandForFalseAccept(population, 0.4, limits, 0.01);
    const risk = (band: number) =>
      globalRisk(population, 0.4, limits, { lower: 98 + band, upper: 102 - band }).falseAcceptProbability;
    expect(risk(width)).toBeLessThanOrEqual(0.01);
    expect(risk(width - 1e-6)).toBeGreaterThan(0.01);
  });
  test("none where simple acceptance keeps the bound already", () => {
    expect(guardBandForFalseAccept({ mean: 100, standardDeviation: 0.2 }, 0.1, limits, 0.01)).toBe(0);
  });
  test.each([0, 1, Number.NaN])("refuses a bound of %s", (bound) => {
    expect(() => guardBandForFalseAccept({ mean: 100, standardDeviation: 1 }, 0.1, limits, bound)).toThrow(
      RangeError,
    );
  });
  test("says when it leaves nothing to accept", () => {
    expect(guardBand(1, 1, { kind: "multiple", uncertaintyMultiple: 1 }).kind).toBe("nothing-acceptable");
    expect(guardBand(1, 2, { kind: "root-sum-square" }).kind).toBe("nothing-acceptable");
  });
  test("a multiple of nothing is simple acceptance", () => {
    expect(guardBand(2, 0.5, { kind: "multiple", uncertaintyMultiple: 0 })).toEqual({
      kind: "guard-band",
      width: 0,
      acceptanceLimit: 2,
    });
  });
  test("refuses impossible arguments", () => {
    expect(() => guardBand(0, 1, { kind: "method-6" })).toThrow(RangeError);
    expect(() => guardBand(1, 0, { kind: "method-6" })).toThrow(RangeError);
    expect(() => guardBand(1, 0.1, { kind: "multiple", uncertaintyMultiple: -1 })).toThrow(RangeError);
    expect(() => guardBand(1, 0.1, { kind: "specific-risk", maxProbability: 0 })).toThrow(RangeError);
  });
});

describe("spread of a population", () => {
  test("95.45 % within two: a standard deviation of one", () => {
    expect(spreadOfReliability(2, 0.9544997361036416)).toBeCloseTo(1, 12);
  });
  test("the measurement's own scatter is taken out of what was observed", () => {
    const observed = spreadOfReliability(1, 0.9);
    const found = spreadOfObservedReliability(1, 0.9, 0.3);
    expect(found).toMatchObject({ kind: "spread" });
    expect(found.kind === "spread" && found.standardDeviation ** 2 + 0.09).toBeCloseTo(observed ** 2, 12);
    expect(spreadOfObservedReliability(1, 0.9, observed).kind).toBe("uncertainty-too-large");
  });
  test("refuses impossible arguments", () => {
    for (const tolerance of [0, -1, Number.NaN, Number.POSITIVE_INFINITY]) {
      expect(() => spreadOfReliability(tolerance, 0.9)).toThrow(RangeError);
    }
    for (const share of [0, 1, Number.NaN]) expect(() => spreadOfReliability(1, share)).toThrow(RangeError);
    expect(() => spreadOfObservedReliability(1, 0.9, -1)).toThrow(RangeError);
  });
});

describe("quadrature", () => {
  test("is exact for polynomials up to degree 39 and empty without a stretch", () => {
    expect(integrate((x) => x ** 39, [0, 1])).toBeCloseTo(1 / 40, 14);
    expect(integrate((x) => x * x, [0, 1, 3])).toBeCloseTo(9, 13);
    expect(integrate(() => 1, [2])).toBe(0);
    expect(integrate(() => 1, [])).toBe(0);
  });
});
