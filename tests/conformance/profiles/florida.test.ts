import { florida } from "@sealbook/metrology/profiles/places/florida";
import { describe, expect, it } from "vitest";
import { judgedBy, verdictBy } from "./judged-by.ts";

// F.A.C. 25-6.052 (lawserver.com), 25-6.022 (casetext.com).

describe("25-6.052(2): no creep; the average within 2 %", () => {
  it.each([
    ["none", "none"],
    ["creeps", "fails"],
  ] as const)("creep %s: %s", (creep, outcome) => {
    const { verdict } = judgedBy(florida, "in-service", { fl: "100", creep });
    expect(verdict === "fail" ? "fails" : "none").toBe(outcome);
  });
  // How the average is made (25-6.058(1)) was not read: one is given here as an assumption, FL alone.
  const given = {
    ...florida,
    judged: [...florida.judged, "average" as const],
    averages: [
      {
        key: "given",
        phases: "any" as const,
        rule: { label: "FL", weights: [{ role: "full-load" as const, weight: "1" }], source: "assumption" },
      },
    ],
  };
  it.each([
    ["101.5", "pass"],
    ["102.1", "fail"],
    ["97.9", "fail"],
    ["102", "pass"],
    ["98", "pass"],
  ])("an average of %s: %s", (fl, verdict) => {
    for (const occasion of ["in-service", "request", "as-left"] as const)
      expect(verdictBy(given, occasion, { fl, creep: "none" })).toBe(verdict);
  });
  it("as it ships no average is judged", () => {
    expect(judgedBy(florida, "in-service", { fl: "104" }).average).toBeNull();
  });
});

describe("25-6.052(3): demand", () => {
  const fullScale = (indicatedKw: string, referenceKw: string) =>
    judgedBy(florida, "in-service", {
      creep: "none",
      demand: { basis: "full-scale", reading: { indicatedKw, referenceKw, fullScaleKw: "100" } },
    }).demand?.[0]?.verdict;
  it.each([
    // Error in percent of the full scale of 100 kW.
    ["3 % fast at half scale", "53", "50", "pass"],
    ["5 % fast at half scale", "55", "50", "fail"],
    ["exactly 4 % slow at half scale", "46", "50", "pass"],
    ["exactly 4 % fast at a quarter, where it begins", "29", "25", "pass"],
  ])("(a) mechanical or lagged: %s", (_, indicated, reference, verdict) => {
    expect(fullScale(indicated, reference)).toBe(verdict);
  });
  const ofReading = (indicatedKw: string, referenceKw: string, loadPercent: string) =>
    judgedBy(florida, "in-service", {
      creep: "none",
      demand: { basis: "reading", reading: { indicatedKw, referenceKw, fullScaleKw: null, loadPercent } },
    }).demand?.[0]?.verdict;
  it.each([
    ["1.5 % fast", "50.75", "50", "50", "pass"],
    ["2.5 % slow", "48.75", "50", "50", "fail"],
    ["exactly 2 % fast", "51", "50", "50", "pass"],
    ["exactly 2 % slow at 10 % of test amperes, where it begins", "49", "50", "10", "pass"],
  ])("(b) electronic: %s", (_, indicated, reference, load, verdict) => {
    expect(ofReading(indicated, reference, load)).toBe(verdict);
  });
});
