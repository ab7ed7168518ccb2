import { adjustBill } from "@sealbook/metrology/billing/adjust-bill";
import { pennsylvania } from "@sealbook/metrology/profiles/places/pennsylvania";
import { describe, expect, it } from "vitest";
import { judgedBy, verdictBy } from "./judged-by.ts";

// 52 Pa. Code 57.20, 57.22, 57.24 as published by law.cornell.edu and pacode.com.

describe("57.20(a): a meter creeps that makes a whole turn in 5 minutes or less", () => {
  it("is data: 300 seconds", () => {
    expect(pennsylvania.creep?.definition).toEqual({ kind: "turn-within", seconds: 300 });
  });
  it.each([
    ["none", "pass"],
    ["creeps", "fail"],
  ] as const)("creep %s: %s", (creep, verdict) => {
    expect(verdictBy(pennsylvania, "in-service", { fl: "100", ll: "100", creep })).toBe(verdict);
  });
});

describe("57.20(b): light load is 10 to 15 %, heavy load 75 to 100 % of the rated test current", () => {
  it("is data, inclusive", () => {
    expect(pennsylvania.loads).toMatchObject([
      { role: "light-load", minPercentOfTestAmperes: "10", maxPercentOfTestAmperes: "15" },
      { role: "full-load", minPercentOfTestAmperes: "75", maxPercentOfTestAmperes: "100" },
    ]);
  });
});

describe("57.20(c): not in service with an error of more than 2.0 % at light load or heavy load", () => {
  it.each([
    ["both within", { fl: "100.4", ll: "99.1" }, "pass"],
    ["heavy load 2.5 % fast", { fl: "102.5", ll: "100" }, "fail"],
    // (4 x 100 + 97.4) / 5 = 99.48: the average would hide it.
    ["light load 2.6 % slow", { fl: "100", ll: "97.4" }, "fail"],
    ["exactly 2.0 % is not more than 2.0 %", { fl: "102.0", ll: "98.0" }, "pass"],
    ["2.01 % is", { fl: "102.01", ll: "98.0" }, "fail"],
  ])("%s: %o %s", (_, found, verdict) => {
    for (const occasion of ["new", "in-service", "as-left"] as const)
      expect(verdictBy(pennsylvania, occasion, { ...found, creep: "none" })).toBe(verdict);
  });
});

describe("57.24(a): a request test is judged by the average error", () => {
  it("(2): a fifth of light load plus four heavy loads; +4.0 and +1.7 are (4.0 + 6.8) / 5 = 2.16", () => {
    const { average } = judgedBy(pennsylvania, "request", { fl: "101.7", ll: "104.0", creep: "none" });
    expect(average).toMatchObject({ registrationPercent: "102.16", verdict: "fail" });
  });
  it("the same shape within 2 %: +3.0 and +1.5 are (3.0 + 6.0) / 5 = 1.8", () => {
    expect(judgedBy(pennsylvania, "request", { fl: "101.5", ll: "103.0" }).average).toMatchObject({
      registrationPercent: "101.8",
      verdict: "pass",
    });
  });
  it("exactly 2 % is not more than 2 %: +2.0 and +2.0", () => {
    expect(judgedBy(pennsylvania, "request", { fl: "102", ll: "102" }).average).toMatchObject({
      registrationPercent: "102",
      verdict: "pass",
    });
  });
  it("(1): a constant load is its own average", () => {
    expect(pennsylvania.constantLoad?.source).toBe("52 Pa. Code 57.24(a)(1)");
  });
});

describe("57.24(b) and (c): bills, beyond 2 %", () => {
  const rule = pennsylvania.billAdjustment;
  if (rule === null) throw new Error("Pennsylvania's profile adjusts bills");
  const adjusted = (registration: string, lastTestDate: string) => {
    const result = adjustBill(rule, {
      testDate: "2026-11-25",
      lastTestDate,
      finding: { kind: "registration", averageRegistrationPercent: registration },
      billingPeriods: [
        {
          from: "2016-11-25",
          to: "2026-11-25",
          registeredKilowattHours: "100000",
          ratePerKilowattHour: "0.10",
        },
      ],
    });
    return result.kind === "adjustment"
      ? [result.direction, result.duty, result.period.months.toText()]
      : result.kind;
  };
  it("fast, tested 8 months ago: half the time, refunded", () => {
    expect(adjusted("102.5", "2026-03-25")).toEqual(["refund", "must", "4"]);
  });
  it("fast, tested 40 months ago: 12 months at most", () => {
    expect(adjusted("102.5", "2023-07-25")).toEqual(["refund", "must", "12"]);
  });
  it("slow, tested 40 months ago: 3 months at most, and only if the utility wants", () => {
    expect(adjusted("97.5", "2023-07-25")).toEqual(["charge", "may", "3"]);
  });
  it.each(["102", "98"])("exactly 2 %% (%s) is not more than 2 %", (registration) => {
    expect(adjusted(registration, "2023-07-25")).toBe("no-adjustment");
  });
});

describe("what was not read is absent", () => {
  it("57.20(e): the periods were cut off, so no interval is given", () => {
    expect(pennsylvania.intervals).toEqual([]);
    expect(pennsylvania.gaps[0]).toContain("periods of the periodic test");
  });
});
