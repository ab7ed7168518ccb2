import { oklahoma } from "@sealbook/metrology/profiles/places/oklahoma";
import { describe, expect, it } from "vitest";
import { judgedBy, verdictBy } from "./judged-by.ts";

// OAC 165:35-15-12 (okrules.elaws.us; the same wording in peopleselectric.coop, section 502).

describe("the average within 98 to 102 %", () => {
  it.each([
    // (LL + 4 HL) / 5
    ["(99.0 + 4 x 100.5) / 5 = 100.2", { fl: "100.5", ll: "99.0" }, "pass"],
    ["(104.0 + 4 x 102.0) / 5 = 102.4", { fl: "102.0", ll: "104.0" }, "fail"],
    ["(98.0 + 4 x 103.0) / 5 = 102, exactly", { fl: "103.0", ll: "98.0" }, "pass"],
    ["(98.1 + 4 x 103.0) / 5 = 102.02", { fl: "103.0", ll: "98.1" }, "fail"],
  ])("weighted: %s", (_, found, verdict) => {
    expect(verdictBy(oklahoma, "in-service", { ...found, creep: "none" })).toBe(verdict);
  });
  it("plain: (98.0 + 103.0) / 2 = 100.5", () => {
    const { average } = judgedBy(oklahoma, "in-service", { fl: "103.0", ll: "98.0" }, { average: "plain" });
    expect(average?.registrationPercent).toBe("100.5");
  });
});

describe("beyond 1 % at unity, 2 % at power factor 0.5, a meter is adjusted to within", () => {
  it.each([
    ["all within", { fl: "100.5", ll: "99.5", pf: "101.5" }, "pass"],
    ["heavy load 1.1 % fast", { fl: "101.1", ll: "100", pf: "100" }, "fail"],
    ["light load 1.1 % slow", { fl: "100", ll: "98.9", pf: "100" }, "fail"],
    ["power factor 2.1 % slow", { fl: "100", ll: "100", pf: "97.9" }, "fail"],
    ["exactly 1 %, 1 % and 2 %", { fl: "101", ll: "99", pf: "102" }, "pass"],
  ])("as left, %s: %s", (_, found, verdict) => {
    expect(verdictBy(oklahoma, "as-left", { ...found, creep: "none" })).toBe(verdict);
  });
});

describe("no meter is left creeping", () => {
  it.each([
    ["none", "pass"],
    ["creeps", "fail"],
  ] as const)("creep %s: %s", (creep, verdict) => {
    expect(verdictBy(oklahoma, "as-left", { fl: "100", ll: "100", pf: "100", creep })).toBe(verdict);
  });
});
