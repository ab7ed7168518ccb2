import { calculate, calculations, findCalculation } from "@sealbook/contract/calc";
import type { CalculationOutcome } from "@sealbook/contract/calculation";
import { calculationHelp } from "@sealbook/contract/calculation-help";
import { describe, expect, test } from "vitest";
import { z } from "zod";

/** Computes by name, as the command line and the service do, and holds the reply against its own schema. */
function calc(name: string, input: unknown): CalculationOutcome {
  const calculation = findCalculation(name);
  if (calculation === null) throw new Error(`no calculation is called ${name}`);
  const outcome = calculate(calculation, input);
  if (!("error" in outcome)) expect(calculation.output.safeParse(outcome).error).toBeUndefined();
  return outcome;
}

const numberAt = (outcome: CalculationOutcome, field: string) => {
  const value = (outcome as Record<string, unknown>)[field];
  if (typeof value !== "number") throw new Error(`${field} is no number: ${JSON.stringify(outcome)}`);
  return value;
};

describe("registration", () => {
  // bartleby.com/essay/Metering-Formula-F3N9UXADJK8Q, printed with two decimals; the standard's Kh is 1.2 (12 at full load).
  test.each([
    ["left coil, light load", { counts: 1, whPerCount: "28.8", standardWh: "28.86" }, 99.79],
    ["right coil, light load", { counts: 1, whPerCount: 28.8, standardWh: 28.776 }, 100.08],
    ["two elements in series", { counts: 2, whPerCount: 28.8, seriesFactor: 2, standardWh: "28.848" }, 99.83],
    ["left coil, full load", { counts: 10, whPerCount: 28.8, standardWh: "288.84" }, 99.71],
  ])("%s", (_name, input, printed) => {
    expect(numberAt(calc("registration", input), "registrationPercent").toFixed(2)).toBe(printed.toFixed(2));
  });
  test("a standard that registers 100.05 % of the truth moves the meter with it (definition)", () => {
    expect(
      calc("registration", {
        counts: 1,
        whPerCount: 7.2,
        standardWh: 7.2,
        standardRegistrationPercent: 100.05,
      }),
    ).toEqual({ registrationPercent: 100.05, errorPercent: 0.05 });
  });
  test("a number and the same number as text mean the same decimal", () => {
    const asText = calc("registration", { counts: "3", whPerCount: "1.2", standardWh: "3.7" });
    expect(calc("registration", { counts: 3, whPerCount: 1.2, standardWh: 3.7 })).toEqual(asText);
  });
});

describe("average", () => {
  // 04 NCAC 11 R08-11; the inputs are ours.
  test.each([
    [{ method: 1, fullLoad: 100.2, lightLoad: 99.2 }, 100],
    [{ method: "2", fullLoad: "100.2", lightLoad: "99.2" }, 99.7],
    [{ method: 3, representativeLoad: 101.3 }, 101.3],
    [{ method: 4, fullLoad: 100.2, lightLoad: 99.2, powerFactor: 100.8 }, 100],
    [{ method: 4, fullLoad: "101.53", lightLoad: "102.40", powerFactor: "103.08" }, 102],
    [{ method: 3, fullLoad: 101.3 }, 101.3],
    [{ weights: { fullLoad: 3, lightLoad: 1, powerFactor: 0 }, fullLoad: 100, lightLoad: 98 }, 99.5],
  ])("%j is %s", (input, expected) => {
    expect(numberAt(calc("average", input), "registrationPercent")).toBe(expected);
  });
  test("N.D. Admin. Code 69-09-02-27, polyphase: errors +1.0, +2.4, +3.1 average +2.4", () => {
    const input = { method: "nd-polyphase", values: "errors", lightLoad: 1, fullLoad: 2.4, powerFactor: 3.1 };
    expect(numberAt(calc("average", input), "errorPercent")).toBe(2.4);
  });
  test("52 Pa. Code 57.24: light load +4.0, heavy load +1.7 average +2.16", () => {
    const input = { method: 1, values: "errors", lightLoad: "4.0", fullLoad: "1.7" };
    expect(numberAt(calc("average", input), "errorPercent")).toBe(2.16);
  });
  test.each([
    [{ fullLoad: 100 }, "Give either a method or weights, not both and not neither."],
    [
      { method: 1, weights: { fullLoad: 1 }, fullLoad: 100 },
      "Give either a method or weights, not both and not neither.",
    ],
    [{ method: 4, fullLoad: 100 }, "The average also needs: lightLoad, powerFactor."],
    [
      { method: 3, fullLoad: 100, lightLoad: 100 },
      "Method 3 needs one load, the one that stands for the meter's use.",
    ],
    [{ method: 3 }, "Method 3 needs one load, the one that stands for the meter's use."],
    [{ weights: {}, fullLoad: 100 }, "an average needs at least one weight"],
    [{ method: 1, fullLoad: 100, lightLoad: 0 }, "a percent registration must be greater than 0"],
  ])("%j is refused", (input, error) => {
    expect(calc("average", input)).toEqual({ error });
  });
});

describe("expected-time and nameplate", () => {
  // standby.lbl.gov: Kh 7.2 at 43.2 W takes 600 s; smartenergytoday.com: at 960 W 27 s.
  test.each([
    [43.2, 600],
    [960, 27],
  ])("Kh 7.2 at %s W: %s s", (watts, seconds) => {
    const found = calc("expected-time", { whPerCount: 7.2, volts: 240, amperes: watts / 240, counts: 1 });
    expect(found).toMatchObject({ watts, seconds });
  });
  test("the least counts for a time, and for a resolution (arithmetic)", () => {
    const point = { whPerCount: 1.8, volts: 120, amperes: 2.5, seriesFactor: 3 };
    expect(calc("expected-time", { ...point, seconds: 60 })).toMatchObject({ counts: 9, seconds: 64.8 });
    expect(calc("expected-time", { ...point, resolutionPercent: 0.03 })).toMatchObject({ counts: 3334 });
    expect(calc("expected-time", { ...point, powerFactor: 0.5, counts: 1 })).toMatchObject({ watts: 450 });
    expect(calc("expected-time", point)).toHaveProperty("error");
    expect(calc("expected-time", { ...point, quantity: "VARh", counts: 1 })).toHaveProperty("error");
  });
  test("240 V, 30 A, one element is Kh 7.2 (freezingblue.com card set 310317)", () => {
    const plate = {
      form: "2S",
      designVolts: 240,
      testAmperes: 30,
      classAmperes: 200,
      elements: 1,
      kt: "1.8",
    };
    expect(calc("nameplate", { ...plate, kh: 7.2 })).toEqual({ agrees: true, findings: [] });
    expect(calc("nameplate", { ...plate, kh: 3.6 })).toMatchObject({ agrees: false });
  });
});

describe("summary", () => {
  test("NIST StRD NumAcc4 (memory): mean 10000000.2, standard deviation 0.1", () => {
    const values = [
      10000000.2,
      ...Array.from({ length: 1000 }, (_, i) => (i % 2 === 0 ? 10000000.1 : 10000000.3)),
    ];
    expect(calc("summary", { values })).toMatchObject({ n: 1001, mean: 10000000.2, standardDeviation: 0.1 });
  });
  test("one reading and equal readings have no scatter to test", () => {
    expect(calc("summary", { values: ["100.1"] })).toMatchObject({ standardDeviation: null, grubbs: null });
    expect(calc("summary", { values: [1, 1, 1] })).toMatchObject({ standardDeviation: 0, grubbs: null });
  });
  test("e-Handbook 1.3.5.17.1 at both ends: the same suspect", () => {
    const values = [199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57];
    expect(calc("summary", { values })).toMatchObject({ grubbs: { suspectValue: 245.57, exceeds: true } });
  });
});

describe("uncertainty", () => {
  test("EA-4/02 S3 in milliohms: 8.33, and 17 at k = 2", () => {
    const found = calc("uncertainty", {
      coverageFactor: 2,
      components: [
        { label: "reference", value: "5", distribution: "normal", divisor: 2 },
        { label: "drift", value: 10, distribution: "rectangular" },
        { value: 2.75, distribution: "rectangular" },
        { value: 5.5, distribution: "rectangular" },
        { value: "0.000001", distribution: "triangular", sensitivity: 10000000 },
        { value: 7e-8, sensitivity: "10000000" },
      ],
    });
    expect(numberAt(found, "combined").toFixed(2)).toBe("8.33");
    expect(numberAt(found, "expanded").toFixed(0)).toBe("17");
  });
  test("correlations need a coverage factor, and only one way of coverage may be given", () => {
    const components = [
      { label: "a", value: 1, degreesOfFreedom: null },
      { label: "b", value: 1, degreesOfFreedom: 3 },
    ];
    const correlations = [{ between: ["a", "b"], coefficient: 1 }];
    expect(calc("uncertainty", { components, correlations })).toHaveProperty("error");
    expect(calc("uncertainty", { components, correlations, coverageFactor: 2 })).toMatchObject({
      expanded: 4,
    });
    expect(calc("uncertainty", { components, levelOfConfidence: 0.9, coverageFactor: 2 })).toHaveProperty(
      "error",
    );
  });
});

describe("judge", () => {
  const limits = { minPercent: 98, maxPercent: "102" };
  // 04 NCAC 11 R08-13: under 98 or over 102 is a failure, so both limits pass.
  test.each([
    [98, "pass"],
    ["102", "pass"],
    [97.999, "fail"],
    ["102.00000000000001", "fail"],
  ])("%s percent against 98 to 102: %s", (registrationPercent, verdict) => {
    expect(calc("judge", { registrationPercent, ...limits })).toMatchObject({ verdict });
  });
  test("ILAC-G8: a guard band of one U, and a specific risk of 2.275 % at its edge", () => {
    const value = { registrationPercent: 101.9, ...limits, expandedUncertaintyPercent: 0.1 };
    expect(calc("judge", { ...value, rule: "guard-band" })).toMatchObject({
      verdict: "pass",
      acceptanceMaxPercent: 101.9,
    });
    expect(calc("judge", { ...value, rule: "false-accept", maxProbability: 0.0228 })).toMatchObject({
      verdict: "pass",
      falseAcceptProbability: 0.02275,
    });
    expect(calc("judge", { ...value, rule: "false-accept", maxProbability: 0.0227 })).toMatchObject({
      verdict: "fail",
    });
    expect(calc("judge", { ...value, rule: "false-accept" })).toHaveProperty("error");
    expect(calc("judge", { registrationPercent: 101, ...limits, rule: "guard-band" })).toMatchObject({
      verdict: "undecided",
    });
  });
});

describe("false-accept", () => {
  test("suncal manual: specific 2.2750 %, global 1.894 % and 3.721 %", () => {
    const found = calc("false-accept", {
      lower: 9,
      upper: 10,
      expandedUncertainty: "0.2",
      measured: 9.8,
      populationStandardDeviation: 0.3,
    });
    expect(found).toMatchObject({
      specific: { falseAcceptProbability: expect.closeTo(0.02275, 6) },
      global: {
        falseAcceptProbability: expect.closeTo(0.01894, 5),
        falseRejectProbability: expect.closeTo(0.03721, 5),
      },
    });
  });
  test("suncal manual: reliability 0.9, ratio 3, accepted within 0.9 T: 0.76132 %", () => {
    const found = calc("false-accept", {
      lower: -1,
      upper: 1,
      standardUncertainty: 1 / 6,
      inTolerance: 0.9,
      guardBand: "0.1",
    });
    expect(found).toMatchObject({
      specific: null,
      global: { falseAcceptProbability: expect.closeTo(0.0076132, 7) },
    });
  });
  test("JCGM 106, Zener diode (memory): one limit", () => {
    expect(calc("false-accept", { upper: -5.4, standardUncertainty: 0.05, measured: -5.47 })).toMatchObject({
      specific: { conformanceProbability: expect.closeTo(0.919, 3) },
      global: null,
    });
    const oneSided = {
      lower: 0,
      standardUncertainty: 0.5,
      populationMean: 0,
      populationStandardDeviation: 1,
    };
    // Bivariate normal orthant: arctan(1/2) / (2 pi).
    expect(calc("false-accept", oneSided)).toMatchObject({
      global: { falseAcceptProbability: expect.closeTo(Math.atan(0.5) / (2 * Math.PI), 12) },
    });
  });
  test.each([
    [{ lower: 0, upper: 1, measured: 0 }],
    [{ lower: 0, upper: 1, measured: 0, standardUncertainty: 1, expandedUncertainty: 1 }],
    [{ lower: 0, upper: 1, standardUncertainty: 1 }],
    [{ measured: 0, standardUncertainty: 1 }],
    [{ lower: 0, upper: 1, standardUncertainty: 1, populationMean: 0 }],
    [{ lower: 0, upper: 1, standardUncertainty: 1, populationStandardDeviation: 1, inTolerance: 0.9 }],
    [{ lower: 0, standardUncertainty: 1, inTolerance: 0.9 }],
    [{ lower: 0, upper: 1, standardUncertainty: 1, populationMean: 0, inTolerance: 0.9 }],
    [{ lower: 0, standardUncertainty: 1, populationStandardDeviation: 1 }],
    [{ lower: 0, upper: 1, standardUncertainty: 1, measured: 0, guardBand: -1 }],
  ])("%j is refused", (input) => {
    expect(calc("false-accept", input)).toHaveProperty("error");
  });
});

describe("point-uncertainty", () => {
  test("by hand: 0.02/2, 0.005/root 3, 0.05/root 3, 0.03/3, 0.01/root 3", () => {
    const found = calc("point-uncertainty", {
      certificate: { expandedUncertaintyPercent: "0.02", degreesOfFreedom: null },
      drift: { percentPerYear: 0.01, yearsSinceCalibration: 0.5 },
      countResolution: { counts: 2000 },
      repeatability: { standardDeviationPercent: 0.03, runs: 9 },
      setPoint: [{ label: "power factor", halfWidth: 0.002, sensitivityPercentPerUnit: 5 }],
      tolerancePercent: 0.2,
      standardAccuracyPercent: 0.04,
    });
    const combined = Math.sqrt(0.0001 + 0.000025 / 3 + 0.0025 / 3 + 0.0001 + 0.0001 / 3);
    expect(found).toMatchObject({
      combined: expect.closeTo(combined, 14),
      expanded: expect.closeTo(2 * combined, 14),
      testUncertaintyRatio: expect.closeTo(0.1 / combined, 12),
      // 0.2 % against 0.04 %: 5 to 1 (common practice, no source).
      testAccuracyRatio: 5,
    });
  });
  test("no test uncertainty ratio at another coverage factor, without a tolerance or without uncertainty", () => {
    const certificate = { expandedUncertaintyPercent: 0.02, coverageFactor: 2, degreesOfFreedom: 8 };
    const ratio = (input: object) => calc("point-uncertainty", { certificate, ...input });
    expect(ratio({ tolerancePercent: 0.2 })).toMatchObject({
      testUncertaintyRatio: 10,
      testAccuracyRatio: null,
    });
    expect(ratio({ tolerancePercent: 0.2, coverageFactor: 3 })).toMatchObject({ testUncertaintyRatio: null });
    expect(ratio({})).toMatchObject({ testUncertaintyRatio: null, effectiveDegreesOfFreedom: 8 });
    expect(ratio({ certificate: { expandedUncertaintyPercent: 0 }, tolerancePercent: 0.2 })).toMatchObject({
      testUncertaintyRatio: null,
    });
  });
});

describe("guard-band", () => {
  test.each([
    // ANSI/NCSL Z540.3 handbook, methods 5 and 6, at ratio 2; ILAC-G8 with r = 1; JCGM 106 Table 1, 5 % one-sided.
    [{ rule: "method-6" }, 0.8592, 4],
    [{ rule: "root-sum-square" }, 0.866, 4],
    [{}, 0.5, 12],
    [{ rule: "specific-risk", maxProbability: 0.05 }, 1 - 0.25 * 1.645, 3],
  ])("%j at ratio 2", (input, acceptanceLimit, digits) => {
    expect(calc("guard-band", { tolerance: 1, expandedUncertainty: "0.5", ...input })).toMatchObject({
      acceptanceLimit: expect.closeTo(acceptanceLimit, digits),
    });
  });
  test("suncal manual: limits 9 and 10, spread 0.3, u 0.1, false accept 0.5 %: 0.09207", () => {
    // The share of N(9.5, 0.3) within 9 and 10 is 1 less 9.558 %, to more digits 2 F(5/3) - 1.
    const input = { tolerance: 0.5, expandedUncertainty: 0.2, rule: "global-risk", maxProbability: 0.005 };
    expect(calc("guard-band", { ...input, inTolerance: 0.9044192954543706 })).toMatchObject({
      width: expect.closeTo(0.09207, 5),
    });
    // Observed reliability 89 % keeps false accept under 2 % at any ratio: no band is needed.
    expect(calc("guard-band", { ...input, maxProbability: 0.02, observedInTolerance: 0.89 })).toMatchObject({
      width: 0,
      acceptanceLimit: 0.5,
    });
  });
  test.each([
    [{ rule: "specific-risk" }],
    [{ rule: "global-risk" }],
    [{ rule: "global-risk", maxProbability: 0.02 }],
    [{ rule: "global-risk", maxProbability: 0.02, inTolerance: 0.9, observedInTolerance: 0.9 }],
    [{ rule: "global-risk", maxProbability: 0.02, observedInTolerance: 0.9999 }],
  ])("%j is refused", (input) => {
    expect(calc("guard-band", { tolerance: 1, expandedUncertainty: 1, ...input })).toHaveProperty("error");
  });
  test("a band as wide as the tolerance leaves nothing", () => {
    expect(calc("guard-band", { tolerance: 1, expandedUncertainty: 1 })).toEqual({
      width: 1,
      acceptanceLimit: null,
    });
  });
});

describe("demand and demand-error", () => {
  test("10 revolutions of Kh 7.2 in 30 s are 8.64 kW (cipco.apogee.net prints 8.6)", () => {
    expect(calc("demand", { pulses: [10], subintervalMinutes: 0.5, whPerPulse: 7.2 })).toEqual({
      maximumKilowatts: 8.64,
      maximumFirstSubinterval: 0,
      kilowatts: [8.64],
      unusedSubintervals: 0,
    });
  });
  test("rolling intervals find what blocks cut in two (arithmetic by hand); a short list has none", () => {
    const profile = { subintervalMinutes: 15, subintervalsPerInterval: 2, whPerPulse: 1000 };
    const pulses = [10, 30, 30, "10"];
    expect(calc("demand", { ...profile, pulses })).toMatchObject({ maximumKilowatts: 80 });
    expect(calc("demand", { ...profile, pulses, method: "rolling" })).toMatchObject({
      maximumKilowatts: 120,
    });
    expect(calc("demand", { ...profile, pulses: [1] })).toMatchObject({
      maximumKilowatts: null,
      unusedSubintervals: 1,
    });
  });
  test("F.A.C. 25-6.052(3): on the limits of 2 % of reading and 4 % of full scale", () => {
    const found = calc("demand-error", {
      meterKilowatts: 25.5,
      referenceKilowatts: 25,
      fullScaleKilowatts: 12.5,
    });
    expect(found).toEqual({ percentOfReading: 2, percentOfFullScale: 4 });
    expect(calc("demand-error", { meterKilowatts: 24.5, referenceKilowatts: 25 })).toEqual({
      percentOfReading: -2,
      percentOfFullScale: null,
    });
  });
});

describe("judge-demand", () => {
  const ofFullScale = { basis: "full-scale", maxErrorPercent: 4, fromPercent: 25 };
  // F.A.C. 25-6.052(3)(a): at most 4 % of full scale, from 25 % of it. Full scale 50 kW, so 2 kW is on the limit.
  test.each([
    [{ meterKilowatts: 26, referenceKilowatts: 25 }, 2, "pass", 2],
    [{ meterKilowatts: "27", referenceKilowatts: 25 }, 4, "pass", 0],
    [{ meterKilowatts: "27.005", referenceKilowatts: "25" }, 4.01, "fail", -0.01],
    [{ meterKilowatts: 15, referenceKilowatts: 12 }, 6, "not-judged", null],
  ])("%j of full scale", (reading, errorPercent, verdict, marginPercent) => {
    const found = calc("judge-demand", { ...reading, ...ofFullScale, fullScaleKilowatts: 50 });
    expect(found).toMatchObject({ errorPercent, verdict, marginPercent });
  });
  // F.A.C. 25-6.052(3)(b): at most 2 % of reading, from 10 % of test amperes.
  test("of reading, at its load", () => {
    const input = { basis: "reading", referenceKilowatts: 50, maxErrorPercent: 2, fromPercent: 10 };
    expect(calc("judge-demand", { ...input, meterKilowatts: 49, loadPercent: 10 })).toMatchObject({
      errorPercent: -2,
      verdict: "pass",
    });
    expect(calc("judge-demand", { ...input, meterKilowatts: 48.995, loadPercent: 10 })).toMatchObject({
      verdict: "fail",
    });
    expect(calc("judge-demand", { ...input, meterKilowatts: 49 })).toEqual({
      error: "This reading still needs: the load in percent of test amperes.",
    });
  });
  test("of full scale needs the full scale", () => {
    const reading = { meterKilowatts: 26, referenceKilowatts: 25 };
    expect(calc("judge-demand", { ...reading, ...ofFullScale })).toEqual({
      error: "This reading still needs: the full scale.",
    });
  });
});

describe("demand-adjustment and bill-adjustment", () => {
  test("F.A.C. 25-6.103: 41 with 1, 82.4 with 2.4, average 60", () => {
    const found = calc("demand-adjustment", {
      meterAt40: 41,
      errorAt40: 1,
      meterAt80: "82.4",
      errorAt80: 2.4,
      averageBillingDemand: 60,
      billedDemands: [60],
    });
    expect(numberAt(found, "errorAtAverage").toFixed(4)).toBe("1.6425");
    expect(numberAt(found, "errorRatio").toFixed(6)).toBe("0.028146");
    expect(numberAt(found, "correctionFactor").toFixed(6)).toBe("0.972625");
    expect(
      calc("demand-adjustment", {
        meterAt40: 1,
        errorAt40: 1,
        meterAt80: 1,
        errorAt80: 1,
        averageBillingDemand: 1,
      }),
    ).toHaveProperty("error");
  });

  const testDate = "2026-11-25";
  test("N.J.A.C. 14:3-4.6(b): 3 % fast is 30.00 of 1,000.00", () => {
    expect(
      calc("bill-adjustment", {
        rule: "us-nj",
        averageRegistrationPercent: 103,
        testDate,
        knownStart: { date: "2026-05-25", cause: "established" },
        billingPeriods: [
          { from: "2026-05-25", to: testDate, registeredKilowattHours: 8000, charges: "1000.00" },
        ],
      }),
    ).toMatchObject({
      outcome: "adjustment",
      direction: "refund",
      duty: "must",
      amount: 30,
      periodMonths: 6,
    });
  });
  test("52 Pa. Code 57.24: the period is told without a bill, and nothing at exactly 2 %", () => {
    const fast = {
      rule: "us-pa",
      averageRegistrationPercent: "102.16",
      testDate,
      lastTestDate: "2024-05-25",
    };
    expect(calc("bill-adjustment", fast)).toMatchObject({
      outcome: "no-adjustment",
      amount: 0,
      periodMonths: 12,
    });
    expect(calc("bill-adjustment", { ...fast, averageRegistrationPercent: 102 })).toMatchObject({
      outcome: "no-adjustment",
      periodMonths: null,
    });
  });
  test("R 460.115a: creep, min(5, 2.25, 6) years; OAC 165:35-15-22(c): a stopped meter by its earlier years", () => {
    const billingPeriods = [
      {
        from: "2026-10-25",
        to: testDate,
        registeredKilowattHours: 0,
        ratePerKilowattHour: 0.1,
        comparableKilowattHours: [900, "1100"],
      },
    ];
    expect(
      calc("bill-adjustment", {
        rule: "us-mi",
        creep: { whPerRevolution: 7.2, secondsPerRevolution: 600, transformerFactor: 1 },
        testDate,
        installationDate: "2006-11-25",
        lastTestDate: "2017-11-25",
      }),
    ).toMatchObject({ outcome: "no-adjustment", periodMonths: 27, periodStart: "2024-08-25" });
    expect(
      calc("bill-adjustment", {
        rule: "us-ok",
        stopped: true,
        testDate,
        knownStart: { date: "2026-10-25", cause: "established" },
        billingPeriods,
      }),
    ).toMatchObject({
      direction: "charge",
      duty: "may",
      amount: 100,
      lines: [{ correctedKilowattHours: 1000 }],
    });
  });
  test("a rule may come as data of its own", () => {
    const side = {
      thresholdPercent: "1",
      duty: "may",
      correctTo: "hundred-percent",
      knownStart: { causes: [], capMonths: null },
      assumedPeriod: {
        shortestOf: [{ fraction: "1", since: "last-test" }],
        capMonths: 1,
        addMonthsOverdue: false,
      },
    };
    const rule = {
      key: "xx-house",
      place: "here",
      citation: { title: "House rule", where: "our handbook", dateRead: testDate, howRead: "whole" },
      fast: side,
      slow: side,
      tamperingHasNoThreshold: false,
      amount: { basis: "energy-rate", rounding: "total" },
      smallestAmount: null,
      creep: null,
      stopped: null,
      notes: [],
    };
    const input = { rule, averageRegistrationPercent: 98.9, testDate, lastTestDate: "2020-01-01" };
    expect(calc("bill-adjustment", input)).toMatchObject({ periodMonths: 1 });
    expect(calc("bill-adjustment", { ...input, rule: { ...rule, fast: {} } })).toHaveProperty("error");
  });
  test.each([
    [{ rule: "us-pa", testDate }],
    [{ rule: "us-pa", testDate, averageRegistrationPercent: 103, stopped: true }],
    [{ rule: "us-xx", testDate, averageRegistrationPercent: 103 }],
    [{ rule: "us-pa", testDate: "2026-02-30", averageRegistrationPercent: 103 }],
    [{ rule: "us-pa", testDate, averageRegistrationPercent: 103 }],
  ])("%j is refused", (input) => {
    expect(calc("bill-adjustment", input)).toHaveProperty("error");
  });
});

describe("the table", () => {
  test("offers what everybody may recompute, each name once", () => {
    const names = calculations.map(({ name }) => name);
    expect(new Set(names).size).toBe(names.length);
    expect(names).toEqual(
      expect.arrayContaining([
        "registration",
        "average",
        "expected-time",
        "nameplate",
        "summary",
        "uncertainty",
        "judge",
        "false-accept",
        "judge-demand",
        "demand-adjustment",
        "bill-adjustment",
      ]),
    );
  });
  test.each(calculations.map((calculation) => [calculation.name, calculation] as const))(
    "%s names its source, describes every field, refuses unknown fields and other values",
    (_name, calculation) => {
      expect(calculation.source).not.toBe("");
      const schema = z.toJSONSchema(calculation.input, { io: "input", unrepresentable: "any" });
      const fields = Object.entries(schema.properties ?? {});
      expect(fields.length).toBeGreaterThan(0);
      const help = calculationHelp(calculation);
      for (const [field, described] of fields) {
        // A list of objects may leave the telling to the fields inside it.
        expect([field, JSON.stringify(described).includes('"description":"')]).toEqual([field, true]);
        expect(help).toContain(`    ${field} (`);
      }
      expect(schema.additionalProperties).toBe(false);
      for (const value of [null, 1, "text", [], { nonsense: 1 }]) {
        expect(calculate(calculation, value)).toEqual({ error: expect.any(String) });
      }
    },
  );
  test("numbers that are none are refused at their field", () => {
    for (const counts of ["", "1e3", "0x10", " 1", "1,5", "NaN", true, null, -1, "0"]) {
      expect(calc("registration", { counts, whPerCount: 1, standardWh: 1 })).toEqual({
        error: expect.stringMatching(/^\/counts: Must be/),
      });
    }
  });
});
