import { evaluateDemandReading } from "@sealbook/metrology/accuracy/evaluate-demand-reading";
import { evaluateStartingLoad } from "@sealbook/metrology/accuracy/evaluate-starting-load";
import type { DemandReading } from "@sealbook/metrology/accuracy/test-terms";
import { correctBillingDemand } from "@sealbook/metrology/demand/correct-billing-demand";
import { demandErrorOfFullScale } from "@sealbook/metrology/demand/demand-error-of-full-scale";
import { demandErrorOfReading } from "@sealbook/metrology/demand/demand-error-of-reading";
import { demandFromPulses } from "@sealbook/metrology/demand/demand-from-pulses";
import { intervalDemands } from "@sealbook/metrology/demand/interval-demands";
import { Fraction } from "@sealbook/metrology/fraction";
import { judgingRulesFor } from "@sealbook/metrology/profiles/judging-rules-for";
import { florida } from "@sealbook/metrology/profiles/places/florida";
import { france } from "@sealbook/metrology/profiles/places/france";
import { describe, expect, test } from "vitest";

const corrected = (...given: Parameters<typeof correctBillingDemand>) => {
  const found = correctBillingDemand(...given);
  if (found.kind !== "correction") throw new Error(found.reason);
  return found;
};

describe("F.A.C. 25-6.103(1): correction of mechanical and lagged demand", () => {
  test("full scale 100 kW: 41.0 with error 1.0, 82.4 with error 2.4, average 60.0", () => {
    // By the formula with rational numbers: 1.4 / 41.4 x 19 + 1 = 68 / 41.4; over 60 less that; C.F. is its complement.
    const found = corrected(
      {
        meterAt40: "41.0",
        errorAt40: "1.0",
        meterAt80: "82.4",
        errorAt80: "2.4",
        averageBillingDemand: "60.0",
      },
      ["60"],
    );
    expect(found.errorAtAverage.equals(Fraction.of("68").dividedBy("41.4"))).toBe(true);
    expect(found.errorAtAverage.toFixed(4)).toBe("1.6425");
    expect(found.errorRatio.toFixed(6)).toBe("0.028146");
    expect(found.correctionFactor.toFixed(6)).toBe("0.972625");
  });

  test("410 with error 10, 824 with error 24, average 500: corrected 486.957 kW", () => {
    const found = corrected(
      { meterAt40: "410", errorAt40: "10", meterAt80: "824", errorAt80: "24", averageBillingDemand: "500" },
      ["500", "480"],
    );
    expect(found.errorAtAverage.toFixed(4)).toBe("13.0435");
    expect(found.referenceAtAverage.toFixed(4)).toBe("486.9565");
    expect(found.errorRatio.times("100").toFixed(4)).toBe("2.6786");
    expect(found.correctedDemands.map((demand) => demand.toFixed(3))).toEqual(["486.957", "467.478"]);
  });

  test("a meter that reads low by 2 % everywhere: every month is divided by 0.98", () => {
    const found = corrected(
      {
        meterAt40: "39.2",
        errorAt40: "-0.8",
        meterAt80: "78.4",
        errorAt80: "-1.6",
        averageBillingDemand: "49",
      },
      ["49", "98"],
    );
    expect(found.errorRatio.toText()).toBe("-0.02");
    expect(found.correctedDemands.map((demand) => demand.toText())).toEqual(["50", "100"]);
  });
});

describe("F.A.C. 25-6.052(3): limits of error", () => {
  // Mechanical or lagged: 4 % of full scale. One good, one bad, one on the limit; full scale 50 kW.
  test.each([
    ["26.9", "25", true],
    ["27.1", "25", false],
    ["27", "25", true],
    ["23", "25", true],
  ])("mechanical demand %s kW against %s kW is acceptable: %s", (meter, reference, acceptable) => {
    expect(!demandErrorOfFullScale(meter, reference, "50").absolute().isGreaterThan("4")).toBe(acceptable);
  });
  // Electronic: 2 % of reading.
  test.each([
    ["25.4", "25", true],
    ["25.6", "25", false],
    ["25.5", "25", true],
    ["24.5", "25", true],
  ])("electronic demand %s kW against %s kW is acceptable: %s", (meter, reference, acceptable) => {
    expect(!demandErrorOfReading(meter, reference).absolute().isGreaterThan("2")).toBe(acceptable);
  });
});

describe("demand from pulses (definition: energy of the interval over its length)", () => {
  test("10 revolutions of Kh 7.2 in 30 s are 8.64 kW (cipco.apogee.net prints 8.6)", () => {
    expect(demandFromPulses("10", "7.2", "0.5").toText()).toBe("8.64");
  });
  test("transformer factor 240 (20:5 and 7200:120, navalfacilities.tpub.com MO-221) multiplies it", () => {
    expect(demandFromPulses("10", "7.2", "0.5", "240").toText()).toBe("2073.6");
  });
  test("a load that straddles two blocks is seen whole only by the rolling interval (arithmetic by hand)", () => {
    const pulses = ["10", "30", "30", "10"];
    const settings = { subintervalMinutes: "15", subintervalsPerInterval: 2, whPerPulse: "1000" } as const;
    const blocks = intervalDemands(pulses, { ...settings, method: "block" });
    const rolling = intervalDemands(pulses, { ...settings, method: "rolling" });
    expect(blocks.intervals.map(({ kilowatts }) => kilowatts.toText())).toEqual(["80", "80"]);
    expect(rolling.intervals.map(({ kilowatts }) => kilowatts.toText())).toEqual(["80", "120", "80"]);
    expect(rolling.maximum).toMatchObject({ firstSubinterval: 1 });
  });
});

describe("F.A.C. 25-6.052(3): limits of demand", () => {
  const { demandLimits, decisionRule } = judgingRulesFor(florida, { accuracyClass: "0.5", phases: 3 });
  const judged = (basis: "full-scale" | "reading", reading: DemandReading) => {
    const limits =
      demandLimits.find((rule) => rule.occasion === "in-service" && rule.limits.basis === basis)?.limits ??
      null;
    const { evaluation } = evaluateDemandReading(reading, { basis, limits }, decisionRule);
    return [evaluation.errorPercent, evaluation.verdict, evaluation.limits?.source];
  };

  // (a): mechanical or lagged demand, error at most 4 % of full scale from 25 % to 100 % of full scale. Full scale
  // 50 kW, so 1 kW is 2 % of it: 2 kW is on the limit, 25 % of full scale is 12.5 kW.
  test.each([
    { indicated: "26", reference: "25", error: "2", verdict: "pass", what: "half the limit" },
    { indicated: "27", reference: "25", error: "4", verdict: "pass", what: "on the limit, high" },
    { indicated: "23", reference: "25", error: "-4", verdict: "pass", what: "on the limit, low" },
    { indicated: "27.005", reference: "25", error: "4.01", verdict: "fail", what: "beyond it, high" },
    { indicated: "22.995", reference: "25", error: "-4.01", verdict: "fail", what: "beyond it, low" },
    {
      indicated: "15",
      reference: "12.5",
      error: "5",
      verdict: "fail",
      what: "25 % of full scale, the boundary",
    },
    { indicated: "15", reference: "12.49", error: "5.02", verdict: "not-judged", what: "below 25 %" },
    {
      indicated: "53",
      reference: "50",
      error: "6",
      verdict: "fail",
      what: "100 % of full scale, the boundary",
    },
    { indicated: "53", reference: "50.01", error: "5.98", verdict: "not-judged", what: "above 100 %" },
  ])(
    "(a) $indicated kW against $reference kW, $what: $verdict",
    ({ indicated, reference, error, verdict }) => {
      const reading = { indicatedKw: indicated, referenceKw: reference, fullScaleKw: "50" };
      expect(judged("full-scale", reading)).toEqual([error, verdict, "F.A.C. 25-6.052(3)(a)"]);
    },
  );

  // (b): electronic demand, error at most 2 % of reading from 10 % to 100 % of test amperes.
  test.each([
    { indicated: "50.5", load: "50", error: "1", verdict: "pass", what: "half the limit" },
    { indicated: "51", load: "100", error: "2", verdict: "pass", what: "on the limit, high, 100 % TA" },
    { indicated: "49", load: "10", error: "-2", verdict: "pass", what: "on the limit, low, 10 % TA" },
    { indicated: "51.005", load: "100", error: "2.01", verdict: "fail", what: "beyond it, high, 100 % TA" },
    { indicated: "48.995", load: "10", error: "-2.01", verdict: "fail", what: "beyond it, low, 10 % TA" },
    { indicated: "55", load: "9.9", error: "10", verdict: "not-judged", what: "below 10 % TA" },
    { indicated: "55", load: "100.1", error: "10", verdict: "not-judged", what: "above 100 % TA" },
  ])("(b) $indicated kW against 50 kW, $what: $verdict", ({ indicated, load, error, verdict }) => {
    const reading = { indicatedKw: indicated, referenceKw: "50", fullScaleKw: null, loadPercent: load };
    expect(judged("reading", reading)).toEqual([error, verdict, "F.A.C. 25-6.052(3)(b)"]);
  });

  test("(a) the errors of 25-6.103's own points: 10 kW at 400 kW and 24 kW at 800 kW of a 1000 kW scale", () => {
    // Worked example of 25-6.103: M40 410, E40 10, M80 824, E80 24; of full scale 1 % and 2.4 %.
    const at = (indicatedKw: string, referenceKw: string) =>
      judged("full-scale", { indicatedKw, referenceKw, fullScaleKw: "1000" });
    expect(at("410", "400").slice(0, 2)).toEqual(["1", "pass"]);
    expect(at("824", "800").slice(0, 2)).toEqual(["2.4", "pass"]);
  });
});

describe("Order of 1 August 2013 (France), Annexe 4, item 2: starting current, percent of the reference current", () => {
  const ruleOf = (accuracyClass: string) =>
    judgingRulesFor(france, { accuracyClass, phases: 1 }).startingLoad.new;

  // The table of the annexe: 0.005, 0.004, 0.004 Iref direct; 0.003, 0.002, 0.001, 0.001 Iref by transformer.
  test.each([
    { accuracyClass: "A", direct: "0.5", transformer: "0.3" },
    { accuracyClass: "B", direct: "0.4", transformer: "0.2" },
    { accuracyClass: "C", direct: "0.4", transformer: "0.1" },
    { accuracyClass: "D", direct: undefined, transformer: "0.1" },
  ])("class $accuracyClass", ({ accuracyClass, direct, transformer }) => {
    const current = (connection: string) =>
      ruleOf(accuracyClass)?.currents.find((row) => row.connection === connection)?.percentOfReferenceCurrent;
    expect([current("direct"), current("transformer")]).toEqual([direct, transformer]);
  });

  test("a meter that starts and goes on passes, one that does not fails, both against the annexe", () => {
    const rule = ruleOf("B");
    if (rule === undefined) throw new Error("class B has a starting current");
    expect(evaluateStartingLoad("starts", rule)).toEqual({
      verdict: "pass",
      reason:
        "The meter starts at its starting load, 0.4 % of the reference current when connected directly, 0.2 % of the reference current when connected through transformers (Order of 1 August 2013 on meters of active electrical energy, Annexe 4, item 2).",
    });
    expect(evaluateStartingLoad("does-not-start", rule).verdict).toBe("fail");
    expect(evaluateStartingLoad("not-checked", rule).verdict).toBe("undecided");
  });

  test("the annexe is of first verification: no other occasion has a starting current", () => {
    expect(Object.keys(judgingRulesFor(france, { accuracyClass: "B", phases: 1 }).startingLoad)).toEqual([
      "new",
    ]);
  });
});
