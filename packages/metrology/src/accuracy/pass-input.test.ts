import { describe, expect, it } from "vitest";
import type { JudgingRules } from "../profiles/judging-rules-for.ts";
import { type PlanAsks, passInput } from "./pass-input.ts";
import type { PlanPoint } from "./test-terms.ts";

const ofThePlan = { minPercent: "99.5", maxPercent: "100.5", source: "house limit of the plan" };
const ofTheProfile = { minPercent: "98", maxPercent: "102", source: "04 NCAC 11 R08-13" };

const point = (over: Partial<PlanPoint>): PlanPoint => ({
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
  limits: {},
  ...over,
});

const ofDemand = (basis: "full-scale" | "reading", maxErrorPercent: string) => ({
  basis,
  maxErrorPercent,
  fromPercent: "10",
  toPercent: "100",
  source: "house rule",
});

const rules: JudgingRules = {
  average: null,
  averageLimits: { "in-service": ofTheProfile },
  pointLimits: [{ role: "full-load", occasion: "in-service", limits: ofTheProfile }],
  decisionRule: { kind: "simple", source: "house rule" },
  creepAllowed: false,
  creepSource: "house rule",
  startingLoad: {
    "in-service": {
      currents: [{ connection: "direct", percentOfReferenceCurrent: "0.4" }],
      source: "house rule",
    },
  },
  demandLimits: [
    { occasion: "new", limits: ofDemand("reading", "1") },
    { occasion: "in-service", limits: ofDemand("full-scale", "4") },
    { occasion: "in-service", limits: ofDemand("reading", "2") },
  ],
  outsideCertifiedRange: "refuse",
};

const nameplate = {
  form: "9S",
  kh: "1.8",
  kt: null,
  circuitFactors: {},
  testAmperes: "2.5",
  designVolts: "120",
};

const nothingAsked: PlanAsks = { creep: "not-asked", startingLoad: "not-asked", demand: null };
const input = (
  points: PlanPoint[],
  occasion: "new" | "in-service" = "in-service",
  asks: PlanAsks = nothingAsked,
) =>
  passInput({
    nameplate,
    points,
    asks,
    rules,
    standard: { certifiedPoints: [], errorAppliedByBench: true },
    occasion,
    entry: { points: [], creep: "none" },
  });

describe("what a pass is judged by", () => {
  it("lets the plan's own limits win over the profile's", () => {
    const built = input([point({ limits: { "in-service": ofThePlan } })]);
    expect(built.points[0]?.limits["in-service"]).toEqual(ofThePlan);
  });

  it("takes the profile's limits for the role where the plan has none", () => {
    const built = input([point({ limits: { new: ofThePlan } })]);
    expect(built.points[0]?.limits).toEqual({ new: ofThePlan, "in-service": ofTheProfile });
  });

  it("leaves a point unjudged where neither has limits", () => {
    expect(input([point({ role: "light-load" })]).points[0]?.limits).toEqual({});
    const asNew = input([point({})], "new");
    expect(asNew.points[0]?.limits).toEqual({});
    expect(asNew.averageLimits).toBeNull();
  });

  it("asks what the plan asks, by the profile's rules for the occasion and the plan's basis of demand", () => {
    const asked = (occasion: "new" | "in-service", asks: PlanAsks) => input([], occasion, asks).asked;
    expect(asked("in-service", nothingAsked)).toEqual({ creep: false, startingLoad: null, demand: null });
    const everything: PlanAsks = { creep: "asked", startingLoad: "asked", demand: { basis: "reading" } };
    expect(asked("in-service", everything)).toEqual({
      creep: true,
      startingLoad: rules.startingLoad["in-service"],
      demand: { basis: "reading", limits: ofDemand("reading", "2") },
    });
    expect(asked("new", { ...everything, demand: { basis: "full-scale" } })).toEqual({
      creep: true,
      startingLoad: { currents: [], source: "asked by the test plan" },
      demand: { basis: "full-scale", limits: null },
    });
  });

  it("looks the standard up at the nominal voltage and obeys the profile outside its range", () => {
    const built = input([point({})]);
    expect(built.volts).toBe("120");
    expect(built.standard).toEqual({
      certifiedPoints: [],
      errorAppliedByBench: true,
      outsideCertifiedRange: "refuse",
    });
  });
});
