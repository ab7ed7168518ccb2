import { Fraction } from "@sealbook/metrology/fraction";
import { judgingRulesFor } from "@sealbook/metrology/profiles/judging-rules-for";
import { midLimits } from "@sealbook/metrology/profiles/mid-limits";
import { florida } from "@sealbook/metrology/profiles/places/florida";
import { france } from "@sealbook/metrology/profiles/places/france";
import { indiana } from "@sealbook/metrology/profiles/places/indiana";
import { michigan } from "@sealbook/metrology/profiles/places/michigan";
import { northCarolina } from "@sealbook/metrology/profiles/places/north-carolina";
import { northDakota } from "@sealbook/metrology/profiles/places/north-dakota";
import { pennsylvania } from "@sealbook/metrology/profiles/places/pennsylvania";
import { describe, expect, it } from "vitest";

// What the published texts say, beside the data that ship.

describe("rule profiles against the texts", () => {
  it("04 NCAC 11 R08-11(a): four methods, with these weights", () => {
    const weights = northCarolina.averages.map(({ rule }) => rule.weights.map(({ weight }) => weight));
    expect(weights).toEqual([["4", "1"], ["1", "1"], ["1"], ["4", "2", "1"]]);
  });

  it("04 NCAC 11 R08-13(c): at least once every sixteen years", () => {
    expect(northCarolina.intervals.map(({ months }) => months)).toEqual([16 * 12]);
  });

  it("04 NCAC 11 R08-12(a), text of 1977: no creep below 110 % of standard service voltage", () => {
    expect(northCarolina.creep?.definition).toEqual({
      kind: "registers-at-no-load",
      belowPercentOfVoltage: 110,
    });
  });

  it("52 Pa. Code 57.20: creep is a turn in 5 minutes or less; light load 10 to 15 %, heavy load 75 to 100 % of test current", () => {
    expect(pennsylvania.creep?.definition).toEqual({ kind: "turn-within", seconds: 300 });
    expect(pennsylvania.loads).toMatchObject([
      { role: "light-load", minPercentOfTestAmperes: "10", maxPercentOfTestAmperes: "15" },
      { role: "full-load", minPercentOfTestAmperes: "75", maxPercentOfTestAmperes: "100" },
    ]);
  });

  it("R 460.3613(3): lots of 301 to 35,000, level II, each year; R 460.3616 was not read, so no average", () => {
    expect(michigan.sampling).toMatchObject({ level: "II", lotMin: 301, lotMax: 35_000, everyMonths: 12 });
    expect(judgingRulesFor(michigan, { accuracyClass: "0.5", phases: 1 }).average).toBeNull();
  });

  it("170 IAC 4-1-10: 16 years, or Z1.9-1993 level II, AQL 2.50, full load only, no lot under 301, each year", () => {
    expect(indiana.intervals.map(({ months }) => months)).toEqual([192]);
    expect(indiana.sampling).toMatchObject({
      standard: "ANSI/ASQC Z1.9-1993",
      level: "II",
      aqlPercent: "2.50",
      judgedOn: ["full-load"],
      lotMin: 301,
      lotMax: null,
      everyMonths: 12,
    });
  });

  it("N.D. Admin. Code 69-09-02-27: a constant load is judged by its own error; weights by phases", () => {
    expect(northDakota.constantLoad).not.toBeNull();
    const label = (phases: number) =>
      judgingRulesFor(northDakota, { accuracyClass: "1", phases }).average?.weights;
    expect(label(1)?.map(({ weight }) => weight)).toEqual(["1", "4"]);
    expect(label(3)?.map(({ weight }) => weight)).toEqual(["1", "4", "2"]);
  });

  it("France, Articles 18 and 21: 8.0, 4.5, 2.5, 1.0 % by class; ten years", () => {
    const upper = france.limits
      .filter(({ of }) => of === "full-load")
      .map(({ accuracyClass, limits }) => [accuracyClass, limits.minPercent, limits.maxPercent]);
    expect(upper).toEqual([
      ["A", "92.0", "108.0"],
      ["B", "95.5", "104.5"],
      ["C", "97.5", "102.5"],
      ["D", "99.0", "101.0"],
    ]);
    expect(france.intervals.map(({ months }) => months)).toEqual([120]);
  });

  it("F.A.C. 25-6.052(2): no creep, average within 2 % in service; 25-6.058(1) was not read, so no average", () => {
    const rules = judgingRulesFor(florida, { accuracyClass: "0.5", phases: 1 });
    expect(rules.averageLimits["in-service"]).toMatchObject({ minPercent: "98", maxPercent: "102" });
    expect(rules).toMatchObject({ creepAllowed: false, average: null });
  });

  it("Directive 2014/32/EU, Annex V, Table 2: class B from Itr to Imax, balanced, at 35 degrees is 2.5 %", () => {
    expect(midLimits("B", "from Itr to Imax", Fraction.of("35"))).toMatchObject({
      minPercent: "97.5",
      maxPercent: "102.5",
    });
  });
});
