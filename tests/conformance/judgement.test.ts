import { meanOfRuns } from "@sealbook/metrology/accuracy/mean-of-runs";
import type { DecisionRule, Occasion } from "@sealbook/metrology/accuracy/test-terms";
import { Fraction } from "@sealbook/metrology/fraction";
import { judgeValue } from "@sealbook/metrology/judgement/judge-value";
import { type LimitedThing, limitsFor } from "@sealbook/metrology/profiles/limits-for";
import { france } from "@sealbook/metrology/profiles/places/france";
import { northCarolina } from "@sealbook/metrology/profiles/places/north-carolina";
import { oklahoma } from "@sealbook/metrology/profiles/places/oklahoma";
import { pennsylvania } from "@sealbook/metrology/profiles/places/pennsylvania";
import type { RuleProfile } from "@sealbook/metrology/profiles/profile-schema";
import { percentRegistration } from "@sealbook/metrology/units";
import { describe, expect, it } from "vitest";

function verdictOf(
  rule: DecisionRule,
  limits: { minPercent: string; maxPercent: string },
  value: string,
  expandedUncertainty: string | null,
) {
  return judgeValue({
    value: Fraction.of(value),
    limits: { ...limits, source: "example" },
    rule,
    expandedUncertainty: expandedUncertainty === null ? null : Fraction.of(expandedUncertainty),
  });
}

describe("guard band of one U: the micrometer of a published guide", () => {
  // talalspecialbolt.com, guide to the ILAC-G8 decision rule: limit 0.003 mm, U 0.0010 mm, acceptance limit 0.002 mm.
  const rule: DecisionRule = {
    kind: "guard-band",
    uncertaintyMultiple: "1",
    source: "ILAC-G8:09/2019, 4.2.2",
  };
  // Deviations in micrometres about 100, so that limits stay positive: 97 to 103.
  const limits = { minPercent: "97", maxPercent: "103" };

  it.each([
    { deviation: "1.7", verdict: "pass", what: "conforming: 0.0017 + 0.0010 <= 0.0030" },
    { deviation: "2.5", verdict: "fail", what: "grey zone: 0.0025 + 0.0010 > 0.0030" },
    { deviation: "2", verdict: "pass", what: "on the acceptance limit" },
    { deviation: "3.5", verdict: "fail", what: "out of tolerance, in doubt" },
    { deviation: "4.5", verdict: "fail", what: "out of tolerance" },
  ])("$what", ({ deviation, verdict }) => {
    const value = Fraction.of("100").plus(deviation).toText();
    expect(verdictOf(rule, limits, value, "1").verdict).toBe(verdict);
    expect(verdictOf(rule, limits, value, "1").acceptanceLimits).toEqual({
      minPercent: "98",
      maxPercent: "102",
    });
  });
});

describe("guard bands and the probability of false accept that they promise", () => {
  // ILAC-G8:09/2019, table of guard bands, as quoted in a training post of a calibration laboratory (October 2024):
  // 0.83 U: under 5 %; 1 U: under 2.5 %; 1.5 U: under 0.16 %; 3 U: under 1 ppm; no band: under 50 %.
  it.each([
    { multiple: "0.83", promise: "0.05" },
    { multiple: "1", promise: "0.025" },
    { multiple: "1.5", promise: "0.0016" },
    { multiple: "3", promise: "0.000001" },
  ])(
    "a value $multiple U inside its limit is truly outside with less than $promise",
    ({ multiple, promise }) => {
      const atAcceptanceLimit = Fraction.of("102").minus(Fraction.of(multiple).times("0.2")).toText();
      const limits = { minPercent: "98", maxPercent: "102" };
      const band: DecisionRule = {
        kind: "guard-band",
        uncertaintyMultiple: multiple,
        source: "ILAC-G8:09/2019",
      };
      const risk: DecisionRule = { kind: "false-accept", maxProbability: promise, source: "ILAC-G8:09/2019" };
      expect(verdictOf(band, limits, atAcceptanceLimit, "0.2").verdict).toBe("pass");
      expect(verdictOf(risk, limits, atAcceptanceLimit, "0.2").verdict).toBe("pass");
      const halfway = Fraction.of("102").minus(Fraction.of(multiple).times("0.1")).toText();
      expect(verdictOf(band, limits, halfway, "0.2").verdict).toBe("fail");
      expect(verdictOf(risk, limits, halfway, "0.2").verdict).toBe("fail");
    },
  );

  it("simple acceptance: a value on its limit is truly outside with 50 %", () => {
    const risk: DecisionRule = {
      kind: "false-accept",
      maxProbability: "0.5",
      source: "ILAC-G8:09/2019, 4.2.1",
    };
    expect(
      verdictOf(risk, { minPercent: "90", maxPercent: "102" }, "102", "0.2").falseAcceptProbability,
    ).toBe("0.500000");
  });
});

describe("JCGM 106:2012", () => {
  it("7.4, two limits: y 13.6, u 1.8, limits 12.5 and 16.3", () => {
    // Inputs as quoted at metrologyrules.com (March 2022). Normal table: F(1.5) = 0.9332, F(-0.6111) = 0.2706; outside:
    // 1 - (0.9332 - 0.2706) = 0.3374.
    const risk: DecisionRule = { kind: "false-accept", maxProbability: "0.05", source: "JCGM 106:2012" };
    const found = verdictOf(risk, { minPercent: "12.5", maxPercent: "16.3" }, "13.6", "3.6");
    expect(Number(found.falseAcceptProbability).toFixed(3)).toBe("0.337");
    expect(found.verdict).toBe("fail");
  });

  it("Table 1, one limit: conformance 0.95 stands at z = 1.64 and 0.99 at z = 2.33 (from memory)", () => {
    const outside = (z: string) => {
      const value = Fraction.of("102").minus(Fraction.of(z).times("0.1")).toText();
      const risk: DecisionRule = { kind: "false-accept", maxProbability: "0.5", source: "JCGM 106:2012" };
      const { falseAcceptProbability } = verdictOf(
        risk,
        { minPercent: "0", maxPercent: "102" },
        value,
        "0.2",
      );
      return Number(falseAcceptProbability).toFixed(2);
    };
    expect(outside("1.64")).toBe("0.05");
    expect(outside("2.33")).toBe("0.01");
    expect(outside("1.28")).toBe("0.10");
  });
});

describe("exact boundaries", () => {
  it("100.2 - 100 <= 0.2 holds: an error of 0.2 % is within 0.2 % (arithmetic; binary doubles say 0.2000000000000028)", () => {
    const rule: DecisionRule = { kind: "simple", source: "arithmetic" };
    expect(verdictOf(rule, { minPercent: "99.8", maxPercent: "100.2" }, "100.2", null)).toMatchObject({
      verdict: "pass",
      marginPercent: "0",
    });
  });
});

describe("limits of the rules: one value inside, one outside, one on each boundary", () => {
  function check(
    profile: RuleProfile,
    of: LimitedThing,
    occasion: Occasion,
    accuracyClass: string,
    verdicts: Record<string, "pass" | "fail">,
  ) {
    const limits = limitsFor(profile, occasion, accuracyClass)[of] ?? null;
    expect(limits).not.toBeNull();
    for (const [value, verdict] of Object.entries(verdicts)) {
      const judged = judgeValue({
        value: Fraction.of(value),
        limits,
        rule: profile.decisionRule,
        expandedUncertainty: null,
      });
      expect(judged.verdict, `${profile.key} ${of} ${value}`).toBe(verdict);
    }
  }

  it("04 NCAC 11 R08-13(a): less than 98 % or more than 102 % is a failure", () => {
    check(northCarolina, "average", "in-service", "0.5", {
      "100": "pass",
      "98": "pass",
      "98.0": "pass",
      "102.0": "pass",
      "97.999": "fail",
      "102.001": "fail",
    });
  });

  it("04 NCAC 11 R08-12(b), text of 1977: heavy load not over 2 %, light load not over 4 %", () => {
    check(northCarolina, "full-load", "new", "0.5", {
      "101": "pass",
      "102": "pass",
      "98": "pass",
      "102.01": "fail",
    });
    check(northCarolina, "light-load", "new", "0.5", {
      "103": "pass",
      "104": "pass",
      "96": "pass",
      "95.99": "fail",
    });
  });

  it("52 Pa. Code 57.20(c): an error of more than 2.0 % at light load or heavy load", () => {
    for (const load of ["light-load", "full-load"] as const) {
      check(pennsylvania, load, "in-service", "1", {
        "99": "pass",
        "98": "pass",
        "102": "pass",
        "97.9": "fail",
        "102.1": "fail",
      });
    }
  });

  it("52 Pa. Code 57.24(b), (c): an average error of more than 2 %, here +2.16 % from light +4.0 and heavy +1.7", () => {
    check(pennsylvania, "average", "request", "1", {
      "102.16": "fail",
      "102": "pass",
      "101": "pass",
      "97.99": "fail",
    });
  });

  it("OAC 165:35-15-12: average 98 to 102 %; left within 1 % at unity and 2 % at 0.5 power factor", () => {
    check(oklahoma, "average", "in-service", "0.5", { "102": "pass", "98": "pass", "102.1": "fail" });
    check(oklahoma, "full-load", "as-left", "0.5", { "101": "pass", "101.1": "fail", "99": "pass" });
    check(oklahoma, "light-load", "as-left", "0.5", { "99": "pass", "98.9": "fail", "100": "pass" });
    check(oklahoma, "power-factor", "as-left", "0.5", { "102": "pass", "102.1": "fail", "98": "pass" });
  });

  it.each([
    { accuracyClass: "A", on: "108", inside: "107.9", outside: "108.1" },
    { accuracyClass: "B", on: "95.5", inside: "96", outside: "95.4" },
    { accuracyClass: "B", on: "104.5", inside: "104.4", outside: "104.6" },
    { accuracyClass: "C", on: "102.5", inside: "101", outside: "102.6" },
    { accuracyClass: "D", on: "99", inside: "100", outside: "98.9" },
  ])(
    "France, order of 1 August 2013, Article 18, class $accuracyClass about $on %",
    ({ accuracyClass, on, inside, outside }) => {
      check(france, "light-load", "in-service", accuracyClass, {
        [on]: "pass",
        [inside]: "pass",
        [outside]: "fail",
      });
    },
  );

  it("South Carolina 103-373(1)(A), runs at one load: their mean is the error; 0.5 % apart still agree", () => {
    const runs = ["100.5", "100.0"].map((run) => percentRegistration(run));
    const { mean, range } = meanOfRuns(runs);
    expect(mean.toText()).toBe("100.25");
    expect(range?.isGreaterThan("0.5")).toBe(false);
    const apart = meanOfRuns([percentRegistration("100.51"), percentRegistration("100.0")]);
    expect(apart.range?.isGreaterThan("0.5")).toBe(true);
  });
});
