import { globalRisk } from "@sealbook/metrology/uncertainty/global-risk";
import { guardBand } from "@sealbook/metrology/uncertainty/guard-band";
import { guardBandForFalseAccept } from "@sealbook/metrology/uncertainty/guard-band-for-false-accept";
import { riskOverPrior } from "@sealbook/metrology/uncertainty/risk-over-prior";
import { specificFalseAccept } from "@sealbook/metrology/uncertainty/specific-false-accept";
import { spreadOfObservedReliability } from "@sealbook/metrology/uncertainty/spread-of-observed-reliability";
import { spreadOfReliability } from "@sealbook/metrology/uncertainty/spread-of-reliability";
import { describe, expect, test } from "vitest";

/** Agreement with a number printed to some decimals. */
const expectPrinted = (got: number, printed: number, decimals: number) =>
  expect(Math.abs(got - printed)).toBeLessThanOrEqual(0.51 * 10 ** -decimals);

/** Risk in percent of a population centred in a tolerance of half-width T, accepted within A. */
const centred = (t: number, spread: number, u: number, a = t) => {
  const risk = globalRisk(
    { mean: 0, standardDeviation: spread },
    u,
    { lower: -t, upper: t },
    { lower: -a, upper: a },
  );
  return { accept: 100 * risk.falseAcceptProbability, reject: 100 * risk.falseRejectProbability, risk };
};

describe("specific risk", () => {
  test("JCGM 106:2012, Zener diode (from memory): -5.47 V, u 0.05, limit -5.40: conformance 0.919", () => {
    const found = specificFalseAccept(-5.47, 0.05, { lower: null, upper: -5.4 });
    expectPrinted(found.conformanceProbability, 0.919, 3);
  });
  test("JCGM 106:2012, speed enforcement (from memory): u 2 %, 99.9 %: act from 107 km/h where 100 is the limit", () => {
    const doubt = (speed: number) => specificFalseAccept(speed, 0.02 * speed, { lower: null, upper: 100 });
    expect(doubt(107).conformanceProbability).toBeLessThan(0.001);
    expect(doubt(106).conformanceProbability).toBeGreaterThan(0.001);
    expectPrinted(doubt(106.6).falseAcceptProbability, 0.999, 3);
  });
  test("suncal manual: measured 9.8, u 0.1, limits 9 and 10: 2.2750 %", () => {
    expectPrinted(
      100 * specificFalseAccept(9.8, 0.1, { lower: 9, upper: 10 }).falseAcceptProbability,
      2.275,
      4,
    );
  });
  // ILAC-G8:09/2019, section 4.2: at the acceptance limit of a guard band r U, one limit, k = 2.
  test.each([
    [0, 50],
    [0.5, 15.87],
    [0.83, 4.85],
    [1, 2.275],
    [1.5, 0.135],
  ])("ILAC-G8: guard band of %s U leaves %s percent", (multiple, percent) => {
    const found = specificFalseAccept(100 - 2 * multiple, 1, { lower: null, upper: 100 });
    expectPrinted(100 * found.falseAcceptProbability, percent, 2);
  });
  // JCGM 106:2012, Table 1: the guard band for a specific risk is z u.
  test.each([
    [0.2, 0.84],
    [0.1, 1.28],
    [0.05, 1.64],
    [0.01, 2.33],
    [0.001, 3.09],
  ])("JCGM 106 Table 1: risk %s needs a band of %s u", (maxProbability, z) => {
    const found = guardBand(100, 2, { kind: "specific-risk", maxProbability });
    expect(found.kind).toBe("guard-band");
    expect(Math.abs(found.width - z)).toBeLessThan(0.0051);
  });
});

describe("global risk", () => {
  // NCSLI RP-19 (draft) table as carried by the suncal tests: population spread over uncertainty 4.
  test.each([
    [0.6, 4.83860326, 8.26008199],
    [0.7, 3.92234109, 5.72322042],
    [0.8, 2.85583037, 3.63227145],
    [0.9, 1.59995312, 1.7988043],
    [0.95, 0.87100925, 0.92389664],
    [0.99, 0.19991684, 0.20243866],
  ])("RP-19: reliability %s gives %s percent, conditional %s percent", (reliability, accept, conditional) => {
    const found = centred(spreadOfReliability(1, reliability) ** -1, 1, 0.25);
    // The table's own arithmetic carries about six digits.
    expect(Math.abs(found.accept / accept - 1)).toBeLessThan(2e-6);
    expect(
      Math.abs((100 * (found.risk.conditionalFalseAcceptProbability ?? 0)) / conditional - 1),
    ).toBeLessThan(2e-6);
  });

  // Independent quadrature in Python with scipy, ratio T/2u = 4.
  test.each([
    [0.6, 2.2179, 2.477],
    [0.7, 2.2099, 2.6122],
    [0.8, 1.969, 2.5412],
    [0.9, 1.3741, 2.0888],
    [0.95, 0.8583, 1.5537],
    [0.99, 0.2348, 0.656],
  ])(
    "test uncertainty ratio 4, reliability %s: false accept %s percent, false reject %s percent",
    (reliability, accept, reject) => {
      const found = centred(1, spreadOfReliability(1, reliability), 0.125);
      expectPrinted(found.accept, accept, 4);
      expectPrinted(found.reject, reject, 4);
    },
  );

  test("published: T = 2 sigma, u = sigma / 4: 0.8 % and 1.5 %", () => {
    const found = centred(2, 1, 0.25);
    expectPrinted(found.accept, 0.8, 1);
    expectPrinted(found.reject, 1.5, 1);
  });
  test("published: T = 2.5 sigma, u = sigma / 4 and u = sigma: 0.245 % (printed 0.25) and 0.5 %", () => {
    expectPrinted(centred(2.5, 1, 0.25).accept, 0.245, 3);
    expectPrinted(centred(2.5, 1, 1).accept, 0.5, 1);
  });
  test("published: T = 2 sigma, u = sigma / 2, accepted within 0.91 T: 0.8 % and 6.6 %", () => {
    const found = centred(2, 1, 0.5, 1.82);
    expectPrinted(found.accept, 0.8, 1);
    expectPrinted(found.reject, 6.6, 1);
  });

  test("suncal manual: limits 9 and 10, population 9.5 and 0.3, u 0.1", () => {
    const population = { mean: 9.5, standardDeviation: 0.3 };
    const found = globalRisk(population, 0.1, { lower: 9, upper: 10 });
    expectPrinted(100 * found.nonconformingProbability, 9.558, 3);
    expectPrinted(100 * found.falseAcceptProbability, 1.894, 3);
    expectPrinted(100 * found.falseRejectProbability, 3.721, 3);
    expectPrinted(guardBandForFalseAccept(population, 0.1, { lower: 9, upper: 10 }, 0.005), 0.09207, 5);
  });
  test("suncal manual: reliability 0.9, ratio 3: 1.71415 %, and 0.76132 % accepted within 0.9 T", () => {
    const spread = spreadOfReliability(1, 0.9);
    expectPrinted(centred(1, spread, 1 / 6).accept, 1.71415, 5);
    expectPrinted(centred(1, spread, 1 / 6, 0.9).accept, 0.76132, 5);
  });

  test("NCSLI Measure 2012 (figure): a ratio of 4.6 keeps false accept under 2 % whatever the reliability; 4.5 does not", () => {
    const worst = (ratio: number) =>
      Math.max(
        ...Array.from(
          { length: 99 },
          (_, i) => centred(1, spreadOfReliability(1, (i + 1) / 100), 0.5 / ratio).accept,
        ),
      );
    expect(worst(4.6)).toBeLessThan(2);
    expect(worst(4.5)).toBeGreaterThan(2);
    expectPrinted(worst(4), 2.238, 2);
  });

  // Observed reliability 89 % keeps false accept under 2 % at any ratio (boundary published, figures by quadrature).
  test.each([
    [1, 0.323],
    [1.5, 1.768],
    [2, 1.949],
    [3, 1.684],
    [4, 1.398],
    [6, 1.019],
    [10, 0.651],
  ])("observed reliability 89 %, ratio %s: %s percent", (ratio, percent) => {
    const spread = spreadOfObservedReliability(1, 0.89, 0.5 / ratio);
    if (spread.kind !== "spread") throw new Error(spread.reason);
    const { accept } = centred(1, spread.standardDeviation, 0.5 / ratio);
    expectPrinted(accept, percent, 3);
    expect(accept).toBeLessThan(2);
  });

  test("JCGM 106:2012, 9.5.4: bearings with a gamma prior (values via the open suncal notebook)", () => {
    // Gamma density with shape 4 and scale 1/4: 4^4 x^3 exp(-4 x) / 3!
    const prior = {
      density: (x: number) => ((256 / 6) * x ** 3) / Math.exp(4 * x),
      from: 0,
      to: 15,
      breaks: Array.from({ length: 60 }, (_, i) => i / 4),
    };
    const tolerance = { lower: null, upper: 2 };
    const simple = riskOverPrior(prior, 0.25, tolerance);
    expectPrinted(simple.nonconformingProbability, 0.0424, 4);
    expectPrinted(simple.falseAcceptProbability, 0.008, 4);
    expectPrinted(simple.falseRejectProbability, 0.0174, 4);
    const guarded = riskOverPrior(prior, 0.25, tolerance, { lower: null, upper: 1.672 });
    expectPrinted(guarded.falseAcceptProbability, 0.001, 4);
    // The limit 1.672 is itself rounded, which moves the last digit of the producer's risk.
    expectPrinted(guarded.falseRejectProbability, 0.0755, 3);
  });
});

describe("guard bands", () => {
  // ANSI/NCSL Z540.3 handbook, method 6, formula as published.
  test.each([
    [1, 0.5427],
    [1.5, 0.7599],
    [2, 0.8592],
    [3, 0.9482],
    [4, 0.9867],
    [4.5, 0.9982],
    [4.6, 1],
    [10, 1],
  ])("method 6: ratio %s accepts within %s T", (ratio, acceptance) => {
    const found = guardBand(1, 1 / ratio, { kind: "method-6" });
    expect(found.kind === "guard-band" && found.acceptanceLimit).toBeCloseTo(acceptance, 3);
  });
  // Root sum square, A = T sqrt(1 - 1 / ratio^2).
  test.each([
    [1.5, 0.7454],
    [2, 0.866],
    [3, 0.9428],
    [4, 0.9682],
  ])("root sum square: ratio %s accepts within %s T", (ratio, acceptance) => {
    const found = guardBand(1, 1 / ratio, { kind: "root-sum-square" });
    expectPrinted(found.kind === "guard-band" ? found.acceptanceLimit : 0, acceptance, 4);
  });
  // Independent quadrature in Python with scipy, reliability 0.95.
  test.each([
    ["method 6, ratio 4", 4, { kind: "method-6" }, 0.756, 1.79],
    ["method 6, ratio 2", 2, { kind: "method-6" }, 0.654, 8.7],
    ["T - U, ratio 2", 2, { kind: "multiple", uncertaintyMultiple: 1 }, 0.036, 32.9],
    ["method 6, ratio 1.5", 1.5, { kind: "method-6" }, 0.608, 16.9],
  ] as const)("%s: the risk that is left", (_name, ratio, rule, accept, reject) => {
    const band = guardBand(1, 1 / ratio, rule);
    if (band.kind !== "guard-band") throw new Error(band.reason);
    const found = centred(1, spreadOfReliability(1, 0.95), 0.5 / ratio, band.acceptanceLimit);
    expectPrinted(found.accept, accept, 3);
    expect(Math.abs(found.reject / reject - 1)).toBeLessThan(0.003);
  });
});
