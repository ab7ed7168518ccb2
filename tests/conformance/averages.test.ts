import { averageFormula } from "@sealbook/metrology/accuracy/average-formula";
import { type AverageRole, averageRegistration } from "@sealbook/metrology/accuracy/average-registration";
import { percentErrorOf } from "@sealbook/metrology/accuracy/percent-error-of";
import { registrationOfError } from "@sealbook/metrology/accuracy/registration-of-error";
import { northCarolina } from "@sealbook/metrology/profiles/places/north-carolina";
import { northDakota } from "@sealbook/metrology/profiles/places/north-dakota";
import { oklahoma } from "@sealbook/metrology/profiles/places/oklahoma";
import { pennsylvania } from "@sealbook/metrology/profiles/places/pennsylvania";
import type { RuleProfile } from "@sealbook/metrology/profiles/profile-schema";
import { type PercentRegistration, percentError, percentRegistration } from "@sealbook/metrology/units";
import { describe, expect, it } from "vitest";

// The rules print formulas, not results: every expected number here is their formula by hand.

function weightsOf(profile: RuleProfile, key: string) {
  const found = profile.averages.find((average) => average.key === key);
  if (found === undefined) {
    throw new Error(`${profile.key} has no average ${key}`);
  }
  return found.rule;
}

function average(
  profile: RuleProfile,
  key: string,
  points: Partial<Record<AverageRole, PercentRegistration>>,
) {
  const found = averageRegistration(weightsOf(profile, key), points);
  if (found.kind !== "average") {
    throw new Error(`missing: ${found.missing.join(", ")}`);
  }
  return found.registration;
}

const points = (fullLoad: string, lightLoad: string, powerFactor?: string) => ({
  "full-load": percentRegistration(fullLoad),
  "light-load": percentRegistration(lightLoad),
  ...(powerFactor === undefined ? {} : { "power-factor": percentRegistration(powerFactor) }),
});

describe("averages of registrations: 04 NCAC 11 R08-11(a)", () => {
  it.each([
    { key: "method-1", given: points("100.2", "99.4", "100.8"), expected: "100.04" },
    { key: "method-2", given: points("100.2", "99.4", "100.8"), expected: "99.8" },
    { key: "method-3", given: points("100.2", "99.4", "100.8"), expected: "100.2" },
    { key: "method-4", given: points("100.2", "99.4", "100.8"), expected: "100.057142857" },
    { key: "method-1", given: points("100.20", "99.20"), expected: "100" },
    { key: "method-2", given: points("100.20", "99.20"), expected: "99.7" },
    { key: "method-4", given: points("100.20", "99.20", "100.80"), expected: "100" },
    { key: "method-4", given: points("101.53", "102.40", "103.08"), expected: "102" },
  ])("$key is $expected", ({ key, given, expected }) => {
    expect(average(northCarolina, key, given).toText()).toBe(expected);
  });

  it("is written as the rule writes it", () => {
    expect(averageFormula(weightsOf(northCarolina, "method-4").weights)).toBe(
      "R_avg = (4 FL + 2 LL + PF) / 7",
    );
    expect(averageFormula(weightsOf(northCarolina, "method-3").weights)).toBe("R_avg = FL");
    expect(averageFormula([{ role: "full-load", weight: "2" }])).toBe("R_avg = (2 FL) / 2");
  });

  it("reports missing points and assumes none", () => {
    expect(averageRegistration(weightsOf(northCarolina, "method-4"), points("100", "100"))).toEqual({
      kind: "missing-points",
      missing: ["power-factor"],
    });
    expect(averageRegistration(weightsOf(northCarolina, "method-1"), {})).toEqual({
      kind: "missing-points",
      missing: ["full-load", "light-load"],
    });
  });

  it("refuses weights that are none, doubled, or not greater than 0", () => {
    const twice = [
      { role: "full-load" as const, weight: "1" },
      { role: "full-load" as const, weight: "1" },
    ];
    expect(() => averageRegistration({ weights: [] }, points("1", "1"))).toThrow(RangeError);
    expect(() => averageRegistration({ weights: twice }, points("1", "1"))).toThrow(RangeError);
    expect(() =>
      averageRegistration({ weights: [{ role: "full-load", weight: "0" }] }, points("1", "1")),
    ).toThrow(RangeError);
  });
});

describe("averages of signed errors", () => {
  const ofErrors = (profile: RuleProfile, key: string, errors: [string, string, string?]) => {
    const [full, light, lagging] = errors;
    const registered = {
      "full-load": registrationOfError(percentError(full)),
      "light-load": registrationOfError(percentError(light)),
      ...(lagging === undefined ? {} : { "power-factor": registrationOfError(percentError(lagging)) }),
    };
    return percentErrorOf(average(profile, key, registered)).toText();
  };

  it("52 Pa. Code 57.24(a)(2): light load +4.0, heavy load +1.7 give +2.16", () => {
    expect(ofErrors(pennsylvania, "light-and-heavy", ["1.7", "4.0"])).toBe("2.16");
  });

  it("N.D. Admin. Code 69-09-02-27, 3 (polyphase): +1.0, +2.4, +3.1 give (1.0 + 9.6 + 6.2)/7 = 2.4", () => {
    expect(ofErrors(northDakota, "polyphase", ["2.4", "1.0", "3.1"])).toBe("2.4");
  });

  it("N.D. Admin. Code 69-09-02-27, 2 (single-phase): light -1.0, heavy +1.5 give (-1.0 + 6.0)/5 = 1", () => {
    expect(ofErrors(northDakota, "single-phase", ["1.5", "-1.0"])).toBe("1");
  });

  it("does not take North Dakota's seven parts for those of method 4", () => {
    // Method 4 of the same errors: (4 x 2.4 + 2 x 1.0 + 3.1)/7 = 14.7/7 = 2.1.
    expect(ofErrors(northCarolina, "method-4", ["2.4", "1.0", "3.1"])).toBe("2.1");
  });

  it("OAC 165:35-15-12: heavy 101, light 99 give 100.6 weighted and 100 plain", () => {
    expect(average(oklahoma, "weighted", points("101", "99")).toText()).toBe("100.6");
    expect(average(oklahoma, "plain", points("101", "99")).toText()).toBe("100");
  });

  it("old North Carolina rule (text of 1977), any weights: 10 % load -1.0, normal +0.5, rated +1.0 give 0.3", () => {
    // (3 x 0.5 - 1.0 + 1.0)/5 = 0.3: the three loads stand in for the roles that a weight names.
    const weights = [
      { role: "power-factor", weight: "3" },
      { role: "light-load", weight: "1" },
      { role: "full-load", weight: "1" },
    ] as const;
    const found = averageRegistration({ weights: [...weights] }, points("101.0", "99.0", "100.5"));
    expect(found.kind === "average" && percentErrorOf(found.registration).toText()).toBe("0.3");
  });

  it("cram.com/essay P39CYHKXC (training sheet): 70 % full load and 30 % light load, or 75 and 25", () => {
    // 0.70 x 100.2 + 0.30 x 99.4 = 99.96; 0.75 x 100.2 + 0.25 x 99.4 = 100.
    const by = (fullLoad: string, lightLoad: string) => {
      const weights = [
        { role: "full-load" as const, weight: fullLoad },
        { role: "light-load" as const, weight: lightLoad },
      ];
      const found = averageRegistration({ weights }, points("100.2", "99.4"));
      return found.kind === "average" ? found.registration.toText() : "missing";
    };
    expect(by("0.70", "0.30")).toBe("99.96");
    expect(by("0.75", "0.25")).toBe("100");
  });
});
