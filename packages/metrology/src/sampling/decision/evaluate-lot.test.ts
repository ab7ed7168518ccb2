import { describe, expect, it } from "vitest";
import { evaluateLot } from "./evaluate-lot.ts";
import type { CharacteristicPlan, LotPlan } from "./lot-plan-schema.ts";
import { planLot } from "./plan-lot.ts";
import type { SampledPlace } from "./sampled-place.ts";
import { type SamplingScheme, samplingSchemeSchema } from "./sampling-scheme.ts";

/** Example B-3 of MIL-STD-414 (1957) in our shape: five readings against 180 and 209; mean 195, s 8.8034 exact. */
const limits = { minPercent: "180", maxPercent: "209", source: "MIL-STD-414, example B-3" };

const scheme: SamplingScheme = {
  format: 1,
  purpose: "shipment",
  jurisdiction: null,
  source: "MIL-STD-414 (1957), example B-3",
  plan: { kind: "variables", edition: "MIL-STD-414", form: 2, level: "IV", aqlPercent: "1" },
  characteristics: [{ characteristic: "full-load", limits, aqlPercent: null }],
  average: null,
  untestable: { counts: "nonconforming", reason: "a choice" },
  replacement: { allowed: false, sparesPercent: 0, reasons: [] },
  lotSize: { min: 1, max: null, standAloneFrom: null },
  grouping: null,
  everyMonths: null,
  switching: true,
  limitNumbersDropped: false,
  notes: [],
};

const tested = (fullLoad: string, over: Partial<Record<"light-load" | "power-factor", string>> = {}) =>
  ({ kind: "tested", verdict: "pass", readings: { "full-load": fullLoad, ...over }, average: null }) as const;
const left = { kind: "left-out", reason: "No access" } as const;
const dead = { kind: "untestable", reason: "Not registering" } as const;
const waiting = { kind: "waiting" } as const;

const places = (outcomes: readonly SampledPlace["outcome"][]): SampledPlace[] =>
  outcomes.map((outcome, index) => ({ place: index + 1, meter: `M${index + 1}`, outcome }));

function planOf(body: SamplingScheme, lotSize: number): LotPlan {
  const planned = planLot(body, lotSize, {});
  if (planned.kind === "refused") throw new Error(planned.sentence);
  return planned.plan;
}

/** A plan of the attributes kind with these numbers, to look at counts alone. */
function counting(n: number, ac: number, re: number, lotSize = 1000): LotPlan {
  const plan: CharacteristicPlan = {
    characteristic: "full-load",
    severity: "reduced",
    reasons: [],
    aqlPercent: "1",
    plan: {
      kind: "attributes",
      edition: "MIL-STD-105E",
      letter: "J",
      planLetter: "J",
      n,
      ac,
      re,
      allInspected: false,
    },
    notes: [],
    protection: null,
  };
  return { format: 1, lotSize, characteristics: [plan], n, spares: 0 };
}

const exampleB3 = ["197", "188", "184", "205", "201"].map((value) => tested(value));

describe("a lot by variables", () => {
  it("reproduces example B-3 of MIL-STD-414: p 2.80 % against M 3.32 %, accepted", () => {
    const plan = planOf(scheme, 40);
    // Table A-2: 26 to 40 at level IV is letter D; Table B-3: n 5, M 3.32 at AQL 1.
    expect(plan).toMatchObject({ n: 5, characteristics: [{ plan: { letter: "D", maximumPercent: 3.32 } }] });
    const [found] = evaluateLot(scheme, plan, places(exampleB3)).characteristics;
    expect(found).toMatchObject({ mean: 195, outcome: "accepted", nonconforming: 0, leftOut: 0 });
    expect(found?.s).toBeCloseTo(8.8034, 4);
    // The example prints 2.19 and 0.66 from Q rounded to two decimals; the exact percents are 2.1823 and 0.6169.
    expect(found?.estimate?.pUpper).toBeCloseTo(2.1823, 4);
    expect(found?.estimate?.pLower).toBeCloseTo(0.6169, 4);
    expect(found?.criteria).toMatchObject([{ bound: 3.32, holds: true, comparison: "at-most" }]);
  });

  it("is open while a result is missing", () => {
    const found = evaluateLot(scheme, planOf(scheme, 40), places([...exampleB3.slice(0, 4), waiting]));
    expect(found).toMatchObject({ outcome: "open", waiting: 1 });
  });

  it.each([
    ["a meter left out", left, "fallen short by 1"],
    ["an untestable meter", dead, "enter no mean"],
  ])("is left to a person with %s", (_, outcome, sentence) => {
    const found = evaluateLot(scheme, planOf(scheme, 40), places([...exampleB3.slice(0, 4), outcome]));
    expect(found.outcome).toBe("person-decides");
    expect(found.characteristics[0]?.sentence).toContain(sentence);
    expect(found.characteristics[0]?.mean).toBe(193.5); // (197 + 188 + 184 + 205) / 4
  });

  it("is not accepted with an untestable meter when the readings alone refuse it", () => {
    const beyond = ["215", "216", "214", "217"].map((value) => tested(value));
    const found = evaluateLot(scheme, planOf(scheme, 40), places([...beyond, dead]));
    expect(found.outcome).toBe("not-accepted");
  });

  it("counts instead of estimating when the whole lot is tested", () => {
    // A lot of five asks for five or more: one of five beyond its limit is 20 %.
    const plan = planOf(
      { ...scheme, plan: { ...scheme.plan, aqlPercent: "15" } as SamplingScheme["plan"] },
      3,
    );
    expect(plan.characteristics[0]?.plan.allInspected).toBe(true);
    const found = evaluateLot(scheme, plan, places([tested("190"), tested("191"), tested("230")]));
    expect(found.characteristics[0]?.criteria[0]?.value).toBeCloseTo(100 / 3, 12);
    const fine = evaluateLot(scheme, plan, places([tested("190"), tested("191"), tested("192")]));
    expect(fine).toMatchObject({ outcome: "accepted", characteristics: [{ criteria: [{ value: 0 }] }] });
  });

  it("refuses places that are not the plan's", () => {
    const plan = planOf(scheme, 40);
    expect(() => evaluateLot(scheme, plan, places(exampleB3.slice(1)))).toThrow(RangeError);
  });
});

describe("a lot by attributes", () => {
  const good = tested("200");
  const bad = tested("210");

  it.each([
    [[bad, good, good, good], "accepted"],
    [[bad, bad, good, good], "accepted-return-to-normal"],
    [[bad, bad, bad, good], "not-accepted"],
    // With Ac 1 and Re 3: one missing meter cannot lift none above Ac, but can lift one into the gap, where the lot is
    // accepted all the same and normal inspection returns (MIL-STD-105E, 4.7.4); two can lift one to Re.
    [[left, good, good, good], "accepted"],
    [[left, bad, good, good], "accepted-return-to-normal"],
    [[left, left, good, good], "accepted-return-to-normal"],
    [[left, left, bad, good], "person-decides"],
    [[left, bad, bad, bad], "not-accepted"],
    [[dead, good, good, good], "accepted"],
    [[dead, bad, bad, good], "not-accepted"],
    [[waiting, bad, bad, bad], "open"],
    [[left, left, left, left], "person-decides"],
  ] as const)("with Ac 1 and Re 3 (case %#)", (outcomes, expected) => {
    expect(evaluateLot(scheme, counting(4, 1, 3), places([...outcomes])).outcome).toBe(expected);
  });

  it("takes out untestable meters where the scheme says so", () => {
    const out: SamplingScheme = { ...scheme, untestable: { counts: "left-out", reason: "PSC 113.0924(4)" } };
    const [found] = evaluateLot(out, counting(4, 1, 3), places([dead, good, good, good])).characteristics;
    expect(found).toMatchObject({ leftOut: 1, untestable: 0, nonconforming: 0, outcome: "accepted" });
  });

  it("looks at the first places only where a plan is smaller than the sample", () => {
    const [first] = counting(4, 0, 1).characteristics;
    const [second] = counting(2, 0, 1).characteristics;
    if (first === undefined || second === undefined) throw new Error("each plan has one characteristic");
    const plan: LotPlan = {
      ...counting(4, 0, 1),
      characteristics: [{ ...second }, { ...first, characteristic: "light-load" }],
    };
    const both: SamplingScheme = {
      ...scheme,
      characteristics: [
        { characteristic: "full-load", limits, aqlPercent: null },
        { characteristic: "light-load", limits, aqlPercent: null },
      ],
    };
    const fine = tested("200", { "light-load": "200" });
    const found = evaluateLot(both, plan, places([fine, fine, tested("220", { "light-load": "200" }), fine]));
    expect(found.characteristics.map(({ places: n, outcome }) => [n, outcome])).toEqual([
      [2, "accepted"],
      [4, "accepted"],
    ]);
  });

  it("makes the average by the scheme's weights exactly: method 1 of 100.2 and 99.4 is 100.04", () => {
    // 04 NCAC 11 R08-11(a)(1): (4 x 100.2 + 99.4) / 5
    const average: SamplingScheme = {
      ...scheme,
      characteristics: [
        {
          characteristic: "average",
          limits: { minPercent: "98", maxPercent: "100.04", source: "at the limit" },
          aqlPercent: null,
        },
      ],
      average: {
        label: "Method 1",
        weights: [
          { role: "full-load", weight: "4" },
          { role: "light-load", weight: "1" },
        ],
        source: "04 NCAC 11 R08-11(a)(1)",
      },
    };
    const [plan] = counting(1, 0, 1).characteristics;
    if (plan === undefined) throw new Error("the plan has a characteristic");
    const lot: LotPlan = { ...counting(1, 0, 1), characteristics: [{ ...plan, characteristic: "average" }] };
    const on = evaluateLot(average, lot, places([tested("100.2", { "light-load": "99.4" })]));
    expect(on.characteristics[0]?.readings[0]).toMatchObject({ value: "100.04", conforming: true });
    // Method 4 does not end: (4 x 100.2 + 2 x 99.4 + 100.1) / 7 = 699.7 / 7 = 99.957142857142...
    const methodFour: SamplingScheme = {
      ...average,
      average: {
        label: "Method 4",
        weights: [
          { role: "full-load", weight: "4" },
          { role: "light-load", weight: "2" },
          { role: "power-factor", weight: "1" },
        ],
        source: "04 NCAC 11 R08-11(a)(4)",
      },
    };
    const four = tested("100.2", { "light-load": "99.4", "power-factor": "100.1" });
    expect(evaluateLot(methodFour, lot, places([four])).characteristics[0]?.readings[0]).toMatchObject({
      value: expect.stringMatching(/^99\.957142857142857/),
      conforming: true,
    });
    const without = evaluateLot(average, lot, places([tested("100.2")]));
    expect(without.characteristics[0]).toMatchObject({ leftOut: 1, outcome: "person-decides" });
    expect(without.characteristics[0]?.cautions.join(" ")).toContain("no such reading");
  });
});

describe("a plan of a lot", () => {
  it.each([
    [0, "empty-lot"],
    [300, "lot-below-least"],
    [35_001, "lot-above-greatest"],
  ])("is refused for %i meters by Michigan's sizes", (lotSize, reason) => {
    const michigan = { ...scheme, lotSize: { min: 301, max: 35_000, standAloneFrom: null } };
    expect(planLot(michigan, lotSize, {})).toMatchObject({ kind: "refused", reason });
  });

  it("is refused while inspection is discontinued, and where the tables have no such severity", () => {
    const planned = (severity: "reduced" | "discontinued") =>
      planLot(scheme, 40, { "full-load": { severity, reasons: [] } });
    expect(planned("discontinued")).toMatchObject({ reason: "discontinued" });
    // Reduced inspection of MIL-STD-414 was not verified and is not carried.
    expect(planned("reduced")).toMatchObject({ reason: "severity-not-available" });
  });

  it("draws as many as France's table asks for, sample and spares together", () => {
    // Order of 1 August 2013, Annexe 7: up to 9,999 meters 56 to test, 85 to draw.
    const france = samplingSchemeSchema.parse({
      ...scheme,
      plan: {
        kind: "plan-table",
        table: {
          version: 1,
          name: "Annexe 7",
          source: "Order of 1 August 2013, Annexe 7",
          rows: [{ lotMin: 1, lotMax: 9999, normal: { n: 56, ac: 5, drawn: 85 } }],
          largerLotPlanAllowed: true,
          remarks: [],
        },
      },
      characteristics: [{ characteristic: "verdict", limits: null, aqlPercent: null }],
      replacement: { allowed: true, sparesPercent: 0, reasons: ["no-access"] },
    });
    expect(planOf(france, 9999)).toMatchObject({ n: 56, spares: 29 });
    expect(planOf(france, 60)).toMatchObject({ n: 56, spares: 4 });
  });
});
