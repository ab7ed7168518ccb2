import { judgingRulesFor } from "@sealbook/metrology/profiles/judging-rules-for";
import { northCarolina } from "@sealbook/metrology/profiles/places/north-carolina";
import { describe, expect, it } from "vitest";
import { type Found, judgedBy, verdictBy } from "./judged-by.ts";

// 04 NCAC 11, as published: R08-11 and R08-13 as in force since 27 November 2019 (casetext.com, current through autumn
// 2024), R08-12 and R08-44 (ncrules.state.nc.us, law.cornell.edu). Figures by hand beside each case.

const average = (method: string, found: Found) =>
  judgedBy(northCarolina, "in-service", found, { phases: 3, average: method }).average?.registrationPercent;

describe("R08-11(a): four methods of averaging", () => {
  it("method 1, (4 FL + LL) / 5: 101 and 99 are (404 + 99) / 5 = 100.6", () => {
    expect(average("method-1", { fl: "101", ll: "99" })).toBe("100.6");
  });
  it("method 2, (FL + LL) / 2: 101 and 99 are 100", () => {
    expect(average("method-2", { fl: "101", ll: "99" })).toBe("100");
  });
  it("method 3, one representative load: 101 is 101", () => {
    expect(average("method-3", { fl: "101", ll: "99" })).toBe("101");
  });
  it("method 4, (4 FL + 2 LL + PF) / 7: 101, 99 and 102 are (404 + 198 + 102) / 7 = 100.571428...", () => {
    expect(average("method-4", { fl: "101", ll: "99", pf: "102" })).toMatch(/^100\.571428/);
  });
  it("no other method is there, and none of these needs a load that the method does not name", () => {
    expect(northCarolina.averages.map(({ key }) => key)).toEqual([
      "method-1",
      "method-2",
      "method-3",
      "method-4",
    ]);
    expect(() => judgingRulesFor(northCarolina, { accuracyClass: "0.5", phases: 1 }, "method-5")).toThrow(
      RangeError,
    );
  });
  it("a method is not made of less than its loads: method 4 without a power-factor point gives none", () => {
    const evaluated = judgedBy(northCarolina, "in-service", { fl: "101", ll: "99" }, { average: "method-4" });
    expect(evaluated.average).toMatchObject({ registrationPercent: null, missingRoles: ["power-factor"] });
    expect(evaluated.verdict).not.toBe("pass");
  });
});

describe("R08-13(a): an average below 98 % or above 102 % counts as a failure", () => {
  it.each([
    ["100.2 and 100.0 average 100.16", { fl: "100.2", ll: "100.0" }, "pass"],
    ["102.5 and 101.0 average 102.2", { fl: "102.5", ll: "101.0" }, "fail"],
    ["97.5 and 99.0 average 97.8", { fl: "97.5", ll: "99.0" }, "fail"],
    ["102 exactly is not more than 102", { fl: "102", ll: "102" }, "pass"],
    ["98 exactly is not less than 98", { fl: "98", ll: "98" }, "pass"],
    ["101.5 and 104.0 average exactly 102", { fl: "101.5", ll: "104.0" }, "pass"],
    ["101.5 and 104.01 average 102.002", { fl: "101.5", ll: "104.01" }, "fail"],
  ])("%s: %o %s", (_, found, verdict) => {
    expect(verdictBy(northCarolina, "in-service", { ...found, creep: "none" })).toBe(verdict);
  });
});

describe("R08-12(a), text of 1977: no meter that registers on no load below 110 % of the service voltage", () => {
  it.each([
    ["none", "pass"],
    ["creeps", "fail"],
  ] as const)("creep %s: %s", (creep, verdict) => {
    expect(verdictBy(northCarolina, "in-service", { fl: "100", ll: "100", creep })).toBe(verdict);
  });
  it("the boundary of voltage is data, for the plan to say", () => {
    expect(northCarolina.creep?.definition).toEqual({
      kind: "registers-at-no-load",
      belowPercentOfVoltage: 110,
    });
  });
});

describe("R08-12(b), text of 1977: placed in service with the average and heavy load within 2 %, light load within 4 %", () => {
  it.each([
    ["all within", { fl: "100.5", ll: "103" }, "pass"],
    ["heavy load 2.1 % fast", { fl: "102.1", ll: "100" }, "fail"],
    ["light load 4.1 % slow", { fl: "100", ll: "95.9" }, "fail"],
    // (4 x 101.9 + 104) / 5 = 102.32: each load within its own limit, the average not.
    ["each load within, the average 102.32 not", { fl: "101.9", ll: "104" }, "fail"],
    [
      "light load exactly 4 % fast, heavy load 101.5: average exactly 102",
      { fl: "101.5", ll: "104" },
      "pass",
    ],
    ["heavy load exactly 2 % slow", { fl: "98", ll: "98" }, "pass"],
  ])("%s: %o %s", (_, found, verdict) => {
    for (const occasion of ["new", "as-left"] as const)
      expect(verdictBy(northCarolina, occasion, { ...found, creep: "none" })).toBe(verdict);
  });
});

describe("R08-12(d), text of 1977: an average error of not more than 2 % may be considered correct", () => {
  it.each([
    ["101.9", "pass"],
    ["102.1", "fail"],
    ["102", "pass"],
    ["98", "pass"],
    ["97.999", "fail"],
  ])("a request test at %s on every load: %s", (load, verdict) => {
    expect(verdictBy(northCarolina, "request", { fl: load, ll: load, creep: "none" })).toBe(verdict);
  });
});

describe("what is not judged but asked of the utility", () => {
  it("R08-13(c): every meter of a periodic plan at least once in sixteen years", () => {
    expect(northCarolina.intervals.map(({ months }) => months)).toEqual([16 * 12]);
  });
  it("R08-13(b): the utility's own sampling plan, by Z1.4, Z1.9 or another valid one", () => {
    expect(northCarolina.sampling).toMatchObject({ kind: "utility-plan" });
  });
  it("R08-44: no bill is computed while the half on undercharges is unread, and the profile says so", () => {
    expect(northCarolina.billAdjustment).toBeNull();
    expect(northCarolina.gaps.join(" ")).toContain("R08-44(2)");
  });
});
