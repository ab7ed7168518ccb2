import { describe, expect, it } from "vitest";
import { evaluatePass } from "./evaluate-pass.ts";
import type { EvaluatePassInput } from "./pass-evaluation.ts";
import type { CertifiedPoint, PlanPoint, PointEntry, RunEntry, StandardInUse } from "./test-terms.ts";

const limits = { minPercent: "98", maxPercent: "102", source: "house limit" };
const northCarolina = { minPercent: "98", maxPercent: "102", source: "04 NCAC 11 R08-13" };

const aPoint = (over: Partial<PlanPoint> = {}): PlanPoint => ({
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
  limits: { "in-service": limits },
  ...over,
});
const fullLoad = aPoint();
const lightLoad = aPoint({
  key: "LL",
  label: "Light load",
  loadPercent: "10",
  role: "light-load",
  counts: "1",
});
const powerFactor = aPoint({
  key: "PF",
  label: "Power factor",
  powerFactor: "0.5",
  powerFactorSense: "lagging",
  role: "power-factor",
});

const method4 = {
  label: "Method 4",
  weights: [
    { role: "full-load", weight: "4" },
    { role: "light-load", weight: "2" },
    { role: "power-factor", weight: "1" },
  ] as const,
  source: "04 NCAC 11 R08-11",
};

const certified = (over: Partial<CertifiedPoint> = {}): CertifiedPoint => ({
  amperes: "2.5",
  volts: "120",
  powerFactor: "1",
  powerFactorSense: "unity",
  quantity: "Wh",
  registrationPercent: "100.02",
  expandedUncertaintyPercent: "0.02",
  coverageFactor: "2",
  ...over,
});
const aStandard = (over: Partial<StandardInUse> = {}): StandardInUse => ({
  certifiedPoints: [certified(), certified({ amperes: "5", registrationPercent: "100.06" })],
  errorAppliedByBench: false,
  outsideCertifiedRange: "take-uncorrected",
  ...over,
});

const registration = (percent: string): RunEntry => ({ kind: "registration", registrationPercent: percent });
const counted = (counts: string, standardEnergy: string): RunEntry => ({
  kind: "counts",
  counts,
  standardEnergy,
});
const entered = (pointKey: string, ...runs: RunEntry[]): PointEntry => ({ pointKey, runs });

function evaluate(over: Partial<EvaluatePassInput>, ...points: PointEntry[]) {
  return evaluatePass({
    meter: { form: "9S", kh: "1.8", kt: "0.6" },
    points: [fullLoad],
    average: null,
    averageLimits: null,
    decisionRule: { kind: "simple", source: "house rule" },
    occasion: "in-service",
    creepAllowed: false,
    standard: null,
    volts: "120",
    testAmperes: "2.5",
    entry: { points, creep: "none" },
    ...over,
  });
}
const threePoints = { points: [fullLoad, lightLoad, powerFactor] };
const withMethod4 = {
  ...threePoints,
  average: { ...method4, weights: [...method4.weights] },
  averageLimits: northCarolina,
};
const onlyPoint = (result: ReturnType<typeof evaluate>) => {
  const [point] = result.points;
  if (point === undefined) {
    throw new Error("no point was evaluated");
  }
  return point;
};

describe("figures of a pass", () => {
  it("computes the registration of a three-element meter in series from counts and energy", () => {
    // By hand: 100 x 10 x 1.8 / (3 x 6.012) = 1800 / 18.036 = 99.80039920159680638722...
    const result = evaluate({}, entered("FL", counted("10", "6.012")));
    const point = onlyPoint(result);
    expect(point.meanPercent).toBe("99.8003992016");
    expect(point.errorPercent).toBe("-0.199600798403");
    const [run] = point.runs;
    expect(run).toMatchObject({
      state: "evaluated",
      howComputed: [
        {
          formula: "R = 100 n K / (m W)",
          inputs: [
            { symbol: "n", value: "10" },
            { symbol: "K", value: "1.8", unit: "Wh per count" },
            { symbol: "m", value: "3" },
            { symbol: "W", value: "6.012", unit: "Wh" },
          ],
        },
      ],
    });
    expect(result.verdict).toBe("pass");
  });

  it("takes Kt where the plan counts pulses, and the factor 4 of a 2 1/2-element meter in series", () => {
    // By hand: 100 x 40 x 0.6 / (4 x 6) = 100.
    const result = evaluate(
      { meter: { form: "6S", kh: "1.8", kt: "0.6" }, points: [aPoint({ countConstant: "Kt" })] },
      entered("FL", counted("40", "6")),
    );
    expect(onlyPoint(result).meanPercent).toBe("100");
  });

  it("computes the energy of a rotating standard from its revolutions", () => {
    // Training sheet, bartleby.com/essay/Metering-Formula-F3N9UXADJK8Q: 28.8 x 2 / (2 x 1.2 x 24.04), printed 99.83.
    const result = evaluate(
      { meter: { form: "12S", kh: "28.8", kt: null } },
      entered("FL", {
        kind: "revolutions",
        counts: "2",
        standardRevolutions: "24.04",
        standardConstant: "1.2",
      }),
    );
    expect(Number(onlyPoint(result).meanPercent).toFixed(2)).toBe("99.83");
    expect(onlyPoint(result).runs[0]).toMatchObject({ howComputed: [{ formula: "W = r Ks" }, {}] });
  });

  it("judges the mean of the runs and shows their scatter", () => {
    // NIST StRD NumAcc2 in small: 1.2, 1.1, 1.3 have mean 1.2 and standard deviation 0.1; here with 100 added.
    const result = evaluate(
      { points: [aPoint({ runs: 3 })] },
      entered("FL", registration("101.2"), registration("101.1"), registration("101.3")),
    );
    expect(onlyPoint(result)).toMatchObject({
      meanPercent: "101.2",
      sampleStandardDeviationPercent: "0.1",
      rangePercent: "0.2",
      marginPercent: "0.8",
      verdict: "pass",
    });
  });
});

describe("the standard's own error", () => {
  it("is applied at a certified point and interpolated between two", () => {
    const at = (testAmperes: string) =>
      onlyPoint(evaluate({ standard: aStandard(), testAmperes }, entered("FL", registration("100"))));
    expect(at("2.5")).toMatchObject({
      meanPercent: "100.02",
      expandedUncertaintyPercent: "0.02",
      correction: { kind: "applied", standardRegistrationPercent: "100.02" },
    });
    // By hand: halfway between 100.02 at 2.5 A and 100.06 at 5 A.
    expect(at("3.75")).toMatchObject({
      meanPercent: "100.04",
      correction: { kind: "applied" },
      runs: [
        {
          uncorrectedPercent: "100",
          registrationPercent: "100.04",
          howComputed: [
            { result: { symbol: "R_s", value: "100.04" } },
            { formula: "R_corrected = R R_s / 100" },
          ],
        },
      ],
    });
    expect(at("5")).toMatchObject({ runs: [{ howComputed: [{ formula: "R_corrected = R R_s / 100" }] }] });
  });

  it("is not applied twice when the bench has applied it", () => {
    const point = onlyPoint(
      evaluate({ standard: aStandard({ errorAppliedByBench: true }) }, entered("FL", registration("100"))),
    );
    expect(point).toMatchObject({
      meanPercent: "100",
      expandedUncertaintyPercent: "0.02",
      correction: { kind: "already-applied-by-bench" },
    });
  });

  it("is flagged and its uncertainty enlarged outside the certified amperes, if the profile takes the point", () => {
    const point = onlyPoint(
      evaluate({ standard: aStandard(), testAmperes: "5.1" }, entered("FL", registration("100"))),
    );
    // By hand: largest uncertainty 0.02 plus largest certified error 0.06.
    expect(point).toMatchObject({
      meanPercent: "100",
      expandedUncertaintyPercent: "0.08",
      correction: { kind: "uncorrected-outside-range" },
      verdict: "pass",
    });
    expect(point.correction.reason).toContain("5.1 A is outside the certified 2.5 A to 5 A.");
  });

  it("is flagged where no certified point has the voltage, power factor and quantity", () => {
    const bench = aStandard({ errorAppliedByBench: true });
    const correctionOf = (over: Partial<EvaluatePassInput>) =>
      onlyPoint(evaluate({ standard: aStandard(), ...over }, entered("FL", registration("100")))).correction;
    expect(correctionOf({ volts: "240" }).kind).toBe("no-certified-points");
    expect(correctionOf({ points: [aPoint({ quantity: "VARh" })] }).reason).toContain("VARh");
    const lagging = [aPoint({ powerFactor: "0.5", powerFactorSense: "lagging" })];
    expect(correctionOf({ points: lagging }).reason).toContain("power factor 0.5 lagging");
    expect(correctionOf({ volts: "240", standard: bench }).kind).toBe("already-applied-by-bench");
    const empty = aStandard({ certifiedPoints: [] });
    expect(
      onlyPoint(evaluate({ standard: empty }, entered("FL", registration("100")))).expandedUncertaintyPercent,
    ).toBeNull();
  });

  it("leaves a point unjudged and the pass incomplete where the profile refuses such a point", () => {
    const standard = aStandard({ outsideCertifiedRange: "refuse" });
    const result = evaluate({ standard, testAmperes: "50" }, entered("FL", registration("100")));
    expect(onlyPoint(result)).toMatchObject({ state: "refused", verdict: "undecided" });
    expect(result.verdict).toBe("incomplete");
    expect(result.reasons[0]?.reason).toContain("The profile refuses such a point.");
  });

  it("waits for the voltage and the test amperes", () => {
    const result = evaluate({ standard: aStandard(), volts: "" }, entered("FL", registration("100")));
    expect(onlyPoint(result).correction.kind).toBe("refused");
    expect(result.refusals).toEqual([]);
    const refused = evaluate({ standard: aStandard(), testAmperes: "x" }, entered("FL", registration("100")));
    expect(refused.refusals).toMatchObject([
      { pointKey: null, runIndex: null, field: "testAmperes", text: "x" },
    ]);
    expect(refused.verdict).toBe("incomplete");
  });
});

describe("the verdict of a pass", () => {
  it("passes FL 101.53, LL 102.40, PF 103.08 by method 4 against 102: the average is exactly 102", () => {
    // Arithmetic: 4 x 101.53 + 2 x 102.40 + 103.08 = 406.12 + 204.80 + 103.08 = 714 = 7 x 102.
    const wide = { "in-service": { minPercent: "96", maxPercent: "104", source: "house limit" } };
    const points = [fullLoad, lightLoad, powerFactor].map((point) => ({ ...point, limits: wide }));
    const typed = (powerFactorPercent: string) =>
      evaluate(
        { ...withMethod4, points },
        entered("FL", registration("101.53")),
        entered("LL", registration("102.40")),
        entered("PF", registration(powerFactorPercent)),
      );
    expect(typed("103.08")).toMatchObject({
      verdict: "pass",
      average: { registrationPercent: "102", marginPercent: "0", verdict: "pass" },
    });
    const above = typed("103.080001");
    expect(above.verdict).toBe("fail");
    expect(above.reasons).toHaveLength(1);
    expect(above.reasons[0]).toMatchObject({ about: "average", verdict: "fail", limits: northCarolina });
    expect(above.average?.howComputed).toMatchObject({ formula: "R_avg = (4 FL + 2 LL + PF) / 7" });
  });

  it("fails as soon as one point fails, whatever else is still to come", () => {
    const result = evaluate(withMethod4, entered("FL", registration("102.01")));
    expect(result.verdict).toBe("fail");
    expect(result.missingPoints).toEqual(["LL", "PF"]);
    expect(result.reasons).toMatchObject([{ about: "point", pointKey: "FL", marginPercent: "-0.01" }]);
    expect(result.reasons[0]?.reason).toBe(
      "Full load: 102.01 % is outside 98 % to 102 % (house limit), 0.01 % beyond the upper limit. Simple acceptance (house rule).",
    );
  });

  it("is incomplete while a point, a run or the average is missing", () => {
    const missingPoint = evaluate(
      withMethod4,
      entered("FL", registration("100")),
      entered("LL", registration("100")),
    );
    expect(missingPoint).toMatchObject({
      verdict: "incomplete",
      average: { missingRoles: ["power-factor"] },
    });
    expect(missingPoint.reasons.map(({ about }) => about)).toEqual(["point", "average"]);

    const twoRuns = evaluate({ points: [aPoint({ runs: 2 })] }, entered("FL", registration("103")));
    expect(onlyPoint(twoRuns)).toMatchObject({ state: "partial", verdict: "undecided", meanPercent: "103" });
    expect(onlyPoint(twoRuns).reason).toBe("Full load has 1 of 2 runs.");

    const halfTyped = evaluate({}, entered("FL", counted("10", "")));
    expect(onlyPoint(halfTyped)).toMatchObject({
      state: "partial",
      reason: "Full load has 0 of 1 run.",
      runs: [{ state: "incomplete", missingFields: ["standardEnergy"] }],
    });

    const blank = evaluate({}, entered("FL", counted("", "")));
    expect(onlyPoint(blank)).toMatchObject({ state: "missing", runs: [{ state: "not-entered" }] });
    expect(blank.missingPoints).toEqual(["FL"]);

    const nothing = evaluate(withMethod4);
    expect(nothing.verdict).toBe("incomplete");
    expect(nothing.missingPoints).toEqual(["FL", "LL", "PF"]);
  });

  it("does not let one run fail a point that is judged by the mean of two", () => {
    const result = evaluate(
      { points: [aPoint({ runs: 2 })] },
      entered("FL", registration("103"), registration("100")),
    );
    expect(result.verdict).toBe("pass");
    expect(onlyPoint(result).meanPercent).toBe("101.5");
  });

  it("fails a meter that creeps unless the profile does not judge creep", () => {
    const creeping = (creepAllowed: boolean) =>
      evaluate({
        creepAllowed,
        entry: { points: [entered("FL", registration("100"))], creep: "creeps" },
      });
    expect(creeping(false)).toMatchObject({ verdict: "fail", reasons: [{ about: "creep" }] });
    expect(creeping(true)).toMatchObject({ verdict: "pass", creep: { verdict: "not-judged" } });
    const unchecked = { points: [entered("FL", registration("100"))], creep: "not-checked" as const };
    expect(evaluate({ entry: unchecked })).toMatchObject({
      verdict: "pass",
      creep: { verdict: "not-judged" },
    });
  });

  it("does not call a pass what nobody judged", () => {
    const result = evaluate({ occasion: "new" }, entered("FL", registration("150")));
    expect(onlyPoint(result).verdict).toBe("not-judged");
    expect(result).toMatchObject({ verdict: "incomplete", reasons: [{ about: "plan" }] });
  });

  it("asks for points without limits too before it passes", () => {
    const noLimits = aPoint({ key: "X", label: "Extra", role: "none", limits: {} });
    const result = evaluate({ points: [fullLoad, noLimits] }, entered("FL", registration("100")));
    expect(result).toMatchObject({ verdict: "incomplete", reasons: [{ about: "point", pointKey: "X" }] });
  });

  it("computes an average that has no limits, asks for it, and does not judge it", () => {
    const unjudged = { ...withMethod4, averageLimits: null };
    const all = ["FL", "LL", "PF"].map((key) => entered(key, registration("101")));
    expect(evaluate(unjudged, ...all)).toMatchObject({
      verdict: "pass",
      average: { verdict: "not-judged", registrationPercent: "101", missingRoles: [] },
    });
    const withoutPoint = { ...unjudged, points: [fullLoad, lightLoad] };
    const result = evaluate(
      withoutPoint,
      entered("FL", registration("101")),
      entered("LL", registration("101")),
    );
    expect(result).toMatchObject({ verdict: "incomplete", reasons: [{ about: "average" }] });
    expect(result.average?.reason).toContain("The plan has no power factor point.");
  });

  it("does not choose between two full-load points for the average", () => {
    const second = aPoint({ key: "FL-A", label: "Full load, element A" });
    const result = evaluate(
      { ...withMethod4, points: [fullLoad, second, lightLoad, powerFactor] },
      ...["FL", "FL-A", "LL", "PF"].map((key) => entered(key, registration("100"))),
    );
    expect(result.verdict).toBe("incomplete");
    expect(result.average?.reason).toContain("The plan has 2 full load points; one is needed.");
  });
});

describe("decision rules in a pass", () => {
  const guardBand = { kind: "guard-band", uncertaintyMultiple: "1", source: "ILAC-G8:09/2019" } as const;

  it("draws the limits in by the uncertainty of the certificate, for points and for the average", () => {
    const typed = (percent: string) =>
      evaluate(
        { ...withMethod4, decisionRule: guardBand, standard: aStandard({ certifiedPoints: everyPoint }) },
        ...["FL", "LL", "PF"].map((key) => entered(key, registration(percent))),
      );
    const everyPoint = [
      certified({ registrationPercent: "100" }),
      certified({ amperes: "0.25", registrationPercent: "100" }),
      certified({
        powerFactor: "0.5",
        powerFactorSense: "lagging",
        registrationPercent: "100",
        expandedUncertaintyPercent: "0.04",
      }),
    ];
    // By hand: the average's U is (4 x 0.02 + 2 x 0.02 + 0.04) / 7 = 0.16 / 7 = 0.0228571428...
    expect(typed("101.96").average).toMatchObject({
      verdict: "pass",
      expandedUncertaintyPercent: "0.0228571428571",
    });
    expect(typed("101.96").verdict).toBe("pass");
    expect(typed("101.98").points.map(({ verdict }) => verdict)).toEqual(["pass", "pass", "fail"]);
  });

  it("cannot decide a value within the limits while the uncertainty is not known", () => {
    const within = evaluate({ decisionRule: guardBand }, entered("FL", registration("100")));
    expect(onlyPoint(within).verdict).toBe("undecided");
    expect(within).toMatchObject({
      verdict: "incomplete",
      reasons: [{ about: "point", pointKey: "FL", verdict: "undecided" }],
    });
    const outside = evaluate({ decisionRule: guardBand }, entered("FL", registration("103")));
    expect(outside.verdict).toBe("fail");
  });
});

describe("entries that cannot be taken", () => {
  it("names point, run and field, and throws nothing", () => {
    const result = evaluate(
      {},
      entered("FL", counted("10", "6"), counted("ten", "-1")),
      entered("LL", registration("100")),
      entered("FL", registration("100")),
    );
    expect(result.refusals).toEqual([
      {
        pointKey: "LL",
        runIndex: null,
        field: "pointKey",
        text: "LL",
        reason: "The plan has no such point.",
      },
      {
        pointKey: "FL",
        runIndex: null,
        field: "pointKey",
        text: "FL",
        reason: "This point is entered twice; only the first is taken.",
      },
      {
        pointKey: "FL",
        runIndex: 1,
        field: "counts",
        text: "ten",
        reason: "Write a number with digits and, if needed, a decimal point.",
      },
      {
        pointKey: "FL",
        runIndex: 1,
        field: "standardEnergy",
        text: "-1",
        reason: "This must be greater than 0.",
      },
    ]);
    expect(result.verdict).toBe("incomplete");
    expect(onlyPoint(result)).toMatchObject({ state: "refused", runsEvaluated: 1 });
  });

  it("asks for a factor that the table of forms does not know, and takes the one a person gives", () => {
    const meter = { form: "24S", kh: "1.8", kt: null };
    const asked = evaluate({ meter }, entered("FL", counted("10", "6")));
    expect(asked.refusals).toMatchObject([{ pointKey: "FL", runIndex: null, field: "circuits" }]);
    expect(onlyPoint(asked).reason).toBe("Full load cannot be taken as entered.");
    const given = evaluate(
      { meter: { ...meter, circuitFactors: { series: "3" } } },
      entered("FL", counted("10", "6")),
    );
    expect(onlyPoint(given).meanPercent).toBe("100");
    const wrong = evaluate(
      { meter: { ...meter, circuitFactors: { series: "0" } } },
      entered("FL", counted("10", "6")),
    );
    expect(wrong.refusals).toMatchObject([{ field: "circuits", text: "0" }]);
  });

  it("asks for the constant that the plan counts by", () => {
    const noPulse = evaluate(
      { meter: { form: "9S", kh: "1.8", kt: null }, points: [aPoint({ countConstant: "Kt" })] },
      entered("FL", counted("10", "6")),
    );
    expect(noPulse.refusals).toMatchObject([
      { field: "kt", text: "", reason: "The meter's Kt is not known." },
    ]);
    const broken = evaluate(
      { meter: { form: "9S", kh: "1,8", kt: null } },
      entered("FL", counted("10", "6")),
    );
    expect(broken.refusals).toMatchObject([{ field: "kh", text: "1,8" }]);
    const notNeeded = evaluate(
      { meter: { form: "?", kh: "", kt: null } },
      entered("FL", registration("100")),
    );
    expect(notNeeded.verdict).toBe("pass");
  });

  it("refuses a plan that names a point twice, as a broken precondition", () => {
    expect(() => evaluate({ points: [fullLoad, fullLoad] })).toThrow(RangeError);
  });
});
