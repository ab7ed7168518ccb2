import { describe, expect, it } from "vitest";
import { evaluatePass } from "./evaluate-pass.ts";
import type { EvaluatePassInput } from "./pass-evaluation.ts";
import { readNotNegative } from "./read-not-negative.ts";
import type { AskedOfPass, DemandReading, DemandRule, PassEntry, PlanPoint } from "./test-terms.ts";

// What a plan asks beside its points: creep, starting load, demand.

const fullLoad: PlanPoint = {
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
const nothing: AskedOfPass = { creep: false, startingLoad: null, demand: null };
const starts = { currents: [], source: "house rule" };
const ofFullScale: DemandRule = {
  basis: "full-scale",
  limits: {
    basis: "full-scale",
    maxErrorPercent: "4",
    fromPercent: "25",
    toPercent: "100",
    source: "house rule",
  },
};
const ofReading: DemandRule = {
  basis: "reading",
  limits: {
    basis: "reading",
    maxErrorPercent: "2",
    fromPercent: "10",
    toPercent: "100",
    source: "house rule",
  },
};

function evaluate(
  asked: Partial<AskedOfPass> | null,
  entry: Partial<PassEntry>,
  over: Partial<EvaluatePassInput> = {},
) {
  return evaluatePass({
    meter: { form: "9S", kh: "1.8", kt: null },
    points: [fullLoad],
    average: null,
    averageLimits: null,
    decisionRule: { kind: "simple", source: "house rule" },
    occasion: "in-service",
    creepAllowed: false,
    ...(asked === null ? {} : { asked: { ...nothing, ...asked } }),
    standard: null,
    volts: "120",
    testAmperes: "2.5",
    entry: {
      points: [{ pointKey: "FL", runs: [{ kind: "registration", registrationPercent: "100" }] }],
      creep: "not-checked",
      ...entry,
    },
    ...over,
  });
}

const reading = (
  indicatedKw: string,
  referenceKw: string,
  fullScaleKw: string | null = "100",
): DemandReading => ({ indicatedKw, referenceKw, fullScaleKw });
const atLoad = (indicatedKw: string, referenceKw: string, loadPercent: string): DemandReading => ({
  indicatedKw,
  referenceKw,
  fullScaleKw: null,
  loadPercent,
});

describe("a plan that asks for nothing more", () => {
  it("passes without creep, starting load or demand, as does an entry that knows of no plan", () => {
    for (const asked of [null, nothing]) {
      expect(evaluate(asked, {})).toMatchObject({ verdict: "pass", startingLoad: null, demand: null });
    }
  });
});

describe("creep that the plan asks for", () => {
  it("holds the pass open until it is answered", () => {
    const open = evaluate({ creep: true }, {});
    expect(open).toMatchObject({ verdict: "incomplete", creep: { verdict: "undecided" } });
    expect(open.reasons).toMatchObject([
      { about: "creep", reason: "The plan asks for creep, and it was not checked." },
    ]);
    expect(evaluate({ creep: true }, { creep: "none" }).verdict).toBe("pass");
    expect(evaluate({ creep: true }, { creep: "creeps" }).verdict).toBe("fail");
  });

  it("does not hide a failed point", () => {
    const points = [
      { pointKey: "FL", runs: [{ kind: "registration" as const, registrationPercent: "102.01" }] },
    ];
    expect(evaluate({ creep: true }, { points }).verdict).toBe("fail");
  });
});

describe("starting load that the plan asks for", () => {
  const answered = (startingLoad?: PassEntry["startingLoad"]) =>
    evaluate({ startingLoad: starts }, startingLoad === undefined ? {} : { startingLoad });

  it("passes a meter that starts", () => {
    expect(answered("starts")).toMatchObject({
      verdict: "pass",
      startingLoad: { verdict: "pass", reason: "The meter starts at its starting load (house rule)." },
    });
  });

  it("fails a meter that does not start", () => {
    const failed = answered("does-not-start");
    expect(failed).toMatchObject({ verdict: "fail", startingLoad: { verdict: "fail" } });
    expect(failed.reasons).toMatchObject([
      { about: "starting-load", reason: "The meter does not start at its starting load (house rule)." },
    ]);
  });

  it.each([undefined, "not-checked"] as const)("holds the pass open while it is %s", (startingLoad) => {
    const open = answered(startingLoad);
    expect(open).toMatchObject({ verdict: "incomplete", startingLoad: { verdict: "undecided" } });
    expect(open.reasons).toMatchObject([
      {
        about: "starting-load",
        reason:
          "The plan asks whether the meter starts at its starting load (house rule), and it was not checked.",
      },
    ]);
  });

  it("does not make a pass of a test in which nothing was measured against limits", () => {
    const unlimited = [{ ...fullLoad, limits: {} }];
    expect(
      evaluate(
        { creep: true, startingLoad: starts },
        { creep: "none", startingLoad: "starts" },
        { points: unlimited },
      ),
    ).toMatchObject({ verdict: "incomplete", reasons: [{ about: "plan" }] });
  });
});

describe("demand that the plan asks for", () => {
  it("shows the error in percent of full scale with its formula, limit, margin and source", () => {
    // By hand: 100 x (51.5 - 50) / 100 = 1.5 % of full scale; 4 - 1.5 = 2.5.
    const result = evaluate({ demand: ofFullScale }, { demand: [reading("51.5", "50")] });
    expect(result).toMatchObject({
      verdict: "pass",
      demand: [
        {
          basis: "full-scale",
          errorPercent: "1.5",
          marginPercent: "2.5",
          limits: { maxErrorPercent: "4", source: "house rule" },
          verdict: "pass",
          reason:
            "Error 1.5 % of full scale. 1.5 % is within -4 % to 4 % (house rule), 2.5 % inside the upper limit. Simple acceptance (house rule).",
          howComputed: {
            formula: "E = 100 (P - P_ref) / P_full",
            inputs: [{ value: "51.5" }, { value: "50" }, { symbol: "P_full", value: "100" }],
            result: { value: "1.5", unit: "% of full scale" },
          },
        },
      ],
    });
  });

  it("shows the error in percent of reading, which the load places in the range", () => {
    // By hand: 100 x (49 - 50) / 50 = -2 % of reading, exactly on the limit.
    const result = evaluate({ demand: ofReading }, { demand: [atLoad("49", "50", "100")] });
    expect(result.demand).toMatchObject([
      {
        errorPercent: "-2",
        marginPercent: "0",
        verdict: "pass",
        howComputed: { formula: "E = 100 (P - P_ref) / P_ref", inputs: [{}, {}] },
      },
    ]);
    expect(result.demand?.[0]?.howComputed?.inputs).toHaveLength(2);
  });

  it("takes a meter that indicates nothing, and fails it", () => {
    const dead = evaluate({ demand: ofReading }, { demand: [atLoad("0", "50", "100")] });
    expect(dead).toMatchObject({ verdict: "fail", demand: [{ errorPercent: "-100", verdict: "fail" }] });
  });

  it("fails as soon as one reading fails, whatever the others say", () => {
    const result = evaluate(
      { demand: ofFullScale },
      { demand: [reading("50", "50"), reading("84.01", "80")] },
    );
    expect(result).toMatchObject({ verdict: "fail", reasons: [{ about: "demand", marginPercent: "-0.01" }] });
    expect(result.reasons[0]?.reason).toContain("Demand, reading 2: Error 4.01 % of full scale.");
  });

  it("never rounds an error beyond its limit down to it in words", () => {
    const result = evaluate({ demand: ofFullScale }, { demand: [reading("84.0001", "80")] });
    expect(result.reasons[0]?.reason).toContain("Error 4.0001 % of full scale. 4.0001 % is outside");
  });

  it("holds the pass open without a reading, with half a reading, and with none where the limit holds", () => {
    const reasonOf = (demand: DemandReading[]) => {
      const result = evaluate({ demand: ofFullScale }, { demand });
      expect(result.verdict).toBe("incomplete");
      expect(result.refusals).toEqual([]);
      return result.reasons.map(({ about, reason }) => `${about}: ${reason}`);
    };
    expect(reasonOf([])).toEqual(["demand: The plan asks for demand, and no reading is entered."]);
    expect(reasonOf([reading("", "50", null)])).toEqual([
      "demand: Demand, reading 1: This reading still needs: the meter's indication, the full scale.",
    ]);
    expect(reasonOf([reading("50", "", "100")])).toEqual([
      "demand: Demand, reading 1: This reading still needs: the reference.",
    ]);
    expect(reasonOf([reading("20", "24.9")])).toEqual([
      "demand: No reading of demand was taken where its limit holds.",
    ]);
    expect(evaluate({ demand: ofFullScale }, {}).verdict).toBe("incomplete");
  });

  it("asks for the load in percent of test amperes where the basis is the reading", () => {
    const [evaluated] = evaluate({ demand: ofReading }, { demand: [reading("50", "50", null)] }).demand ?? [];
    expect(evaluated).toMatchObject({
      verdict: "undecided",
      reason: "This reading still needs: the load in percent of test amperes.",
    });
  });

  it("does not judge a reading outside the range, and passes when another stands in it", () => {
    const result = evaluate({ demand: ofFullScale }, { demand: [reading("10", "20"), reading("50", "50")] });
    expect(result.verdict).toBe("pass");
    expect(result.demand).toMatchObject([
      {
        errorPercent: "-10",
        marginPercent: null,
        verdict: "not-judged",
        reason:
          "Error -10 % of full scale. Taken at 20 % of full scale; the limit holds from 25 % to 100 % (house rule).",
      },
      { verdict: "pass" },
    ]);
    expect(evaluate({ demand: ofFullScale }, { demand: [reading("120", "100.1")] }).demand).toMatchObject([
      { verdict: "not-judged" },
    ]);
  });

  it("computes and does not judge where the profile has no limits, but wants a reading", () => {
    const unlimited: DemandRule = { basis: "full-scale", limits: null };
    const result = evaluate({ demand: unlimited }, { demand: [reading("90", "50")] });
    expect(result).toMatchObject({
      verdict: "pass",
      demand: [{ errorPercent: "40", limits: null, verdict: "not-judged" }],
    });
    expect(evaluate({ demand: unlimited }, {}).verdict).toBe("incomplete");
  });

  it("refuses what is no number, at its reading and field", () => {
    const result = evaluate(
      { demand: ofFullScale },
      { demand: [reading("50", "50"), reading("-1", "0", "x")] },
    );
    expect(result.verdict).toBe("incomplete");
    expect(result.reasons.map(({ reason }) => reason)).toEqual([
      "Demand, reading 2: This reading cannot be taken as entered.",
    ]);
    expect(result.refusals).toEqual([
      {
        pointKey: null,
        runIndex: null,
        demandIndex: 1,
        field: "indicatedKw",
        text: "-1",
        reason: "This must not be negative.",
      },
      {
        pointKey: null,
        runIndex: null,
        demandIndex: 1,
        field: "referenceKw",
        text: "0",
        reason: "This must be greater than 0.",
      },
      {
        pointKey: null,
        runIndex: null,
        demandIndex: 1,
        field: "fullScaleKw",
        text: "x",
        reason: "Write a number with digits and, if needed, a decimal point.",
      },
    ]);
  });

  it("leaves a reading undecided where the decision rule needs an uncertainty that is not known", () => {
    const guardBand = { kind: "guard-band", uncertaintyMultiple: "1", source: "house rule" } as const;
    const result = evaluate(
      { demand: ofFullScale },
      { demand: [reading("50", "50")] },
      { decisionRule: guardBand, points: [{ ...fullLoad, limits: {} }] },
    );
    expect(result).toMatchObject({ verdict: "incomplete", demand: [{ verdict: "undecided" }] });
  });

  it("judges a test of demand alone", () => {
    const points = [{ ...fullLoad, limits: {} }];
    expect(evaluate({ demand: ofFullScale }, { demand: [reading("50", "50")] }, { points }).verdict).toBe(
      "pass",
    );
  });

  it("says nothing of readings that the plan does not ask for", () => {
    const unasked = evaluate(nothing, { demand: [reading("90", "50")], startingLoad: "does-not-start" });
    expect(unasked).toMatchObject({ verdict: "pass", startingLoad: null, demand: null });
  });
});

describe("a number of 0 or more", () => {
  it("takes 0, leaves an empty field open, and refuses the rest with a sentence", () => {
    expect(readNotNegative("0")).toMatchObject({ kind: "number" });
    expect(readNotNegative(" ")).toEqual({ kind: "blank" });
    expect(readNotNegative("1,5")).toEqual({
      kind: "refused",
      reason: "Write the decimal sign as a point, not as a comma.",
    });
  });
});
