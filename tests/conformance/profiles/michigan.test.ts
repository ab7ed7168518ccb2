import { adjustBill } from "@sealbook/metrology/billing/adjust-bill";
import { Fraction } from "@sealbook/metrology/fraction";
import { bandOf } from "@sealbook/metrology/profiles/band-of";
import { judgingRulesFor } from "@sealbook/metrology/profiles/judging-rules-for";
import { michigan } from "@sealbook/metrology/profiles/places/michigan";
import { planLot } from "@sealbook/metrology/sampling/decision/plan-lot";
import { shippedSchemes } from "@sealbook/metrology/sampling/schemes/shipped-schemes";
import { percentRegistration } from "@sealbook/metrology/units";
import { describe, expect, it } from "vitest";
import { verdictBy } from "./judged-by.ts";

// Mich. Admin. Code R 460.3613, 3615, 3617 (casetext.com, current through 2024) and R 460.115a (law.cornell.edu).

describe("R 460.3613(3)(b): lots of not less than 301 and not more than 35,000", () => {
  const preset = shippedSchemes.find(({ key }) => key === "michigan-in-service");
  const lots = preset?.body.lotSize;
  it("is data, of the profile and of the scheme that ships", () => {
    expect(michigan.sampling).toMatchObject({ lotMin: 301, lotMax: 35_000, level: "II", everyMonths: 12 });
    expect(lots).toEqual({ min: 301, max: 35_000, standAloneFrom: 8_001 });
  });
  // With AQL 2.5 and limits 98 to 102 as an assumption: the text with them was cut off.
  const scheme = {
    ...preset?.body,
    plan: { kind: "variables", edition: "ANSI/ASQ Z1.9", form: 2, level: "II", aqlPercent: "2.5" },
    characteristics: [
      {
        characteristic: "full-load",
        limits: { minPercent: "98", maxPercent: "102", source: "assumption" },
        aqlPercent: null,
      },
    ],
  } as Parameters<typeof planLot>[0];
  it.each([
    [300, "refused"],
    [301, "plan"],
    [20_000, "plan"],
    [35_000, "plan"],
    [35_001, "refused"],
  ])("a lot of %i: %s", (size, kind) => {
    const planned = planLot(scheme, size, {});
    expect(planned.kind === "refused" ? "refused" : "plan").toBe(kind);
  });
});

describe("R 460.115a(1): bills are adjusted for an average inaccuracy of more than 2 %, or for creep", () => {
  const rule = michigan.billAdjustment;
  if (rule === null) throw new Error("Michigan's profile adjusts bills");
  const adjusted = (registration: string) => {
    const result = adjustBill(rule, {
      testDate: "2026-11-25",
      lastTestDate: "2020-11-25",
      installationDate: "2018-11-25",
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
  it("(1), (4): over-registration must be adjusted, for the shortest of 4 years, 3 years, 6 years", () => {
    expect(adjusted("103")).toEqual(["refund", "must", "36"]);
  });
  it("(1): under-registration may be", () => {
    expect(adjusted("97")).toEqual(["charge", "may", "36"]);
  });
  it.each(["102", "98"])("exactly 2 %% (%s) is not more than 2 %", (registration) => {
    expect(adjusted(registration)).toBe("no-adjustment");
  });
});

describe("R 460.3617, text before 10 April 2023: twelve bands of registration, beside not recording and creeping", () => {
  const bands = michigan.reportBands;
  if (bands === null) throw new Error("Michigan's profile has bands");
  const band = (text: string) => bandOf(percentRegistration(Fraction.of(text)), bands);

  it("are twelve", () => {
    expect(bands.bands).toHaveLength(12);
  });

  // Each upper edge: the printed limit belongs to its band, and so does what rounds to it (one decimal, half away from zero).
  it.each([
    ["94", "up to 94.0", "94.1-96.0"],
    ["96", "94.1-96.0", "96.1-97.0"],
    ["97", "96.1-97.0", "97.1-98.0"],
    ["98", "97.1-98.0", "98.1-99.0"],
    ["99", "98.1-99.0", "99.1-100.0"],
    ["100", "99.1-100.0", "100.1-101.0"],
    ["101", "100.1-101.0", "101.1-102.0"],
    ["102", "101.1-102.0", "102.1-103.0"],
    ["103", "102.1-103.0", "103.1-104.0"],
    ["104", "103.1-104.0", "104.1-106.0"],
    ["106", "104.1-106.0", "over 106.0"],
  ])("at %s", (edge, below, above) => {
    expect(band(edge)).toBe(below);
    expect(band(`${edge}.0499999`)).toBe(below);
    expect(band(`${edge}.05`)).toBe(above);
    expect(band(`${edge}.1`)).toBe(above);
  });

  it("102.04 is in the band to 102.0, and still outside limits of 98 to 102", () => {
    expect(band("102.04")).toBe("101.1-102.0");
    const withAverage = {
      ...michigan,
      averages: [
        {
          key: "full-load",
          phases: "any" as const,
          rule: { label: "FL", weights: [{ role: "full-load" as const, weight: "1" }], source: "assumption" },
        },
      ],
    };
    expect(verdictBy(withAverage, "request", { fl: "102.04" })).toBe("fail");
  });
});

describe("what was not read is absent", () => {
  it("R 460.3616: no average is made, so none is judged", () => {
    expect(judgingRulesFor(michigan, { accuracyClass: "0.5", phases: 1 }).average).toBeNull();
    expect(verdictBy(michigan, "in-service", { fl: "104", ll: "104" })).not.toBe("fail");
  });
  it("R 460.3613(3)(d): neither AQL nor limits of a lot are given", () => {
    expect(michigan.sampling).toMatchObject({ aqlPercent: null, limits: null, judgedOn: [] });
  });
});

describe("R 460.3617: reports to be filed", () => {
  it("by 1 April for the calendar year before, with rejected lots inside the plan and outside it", () => {
    expect(michigan.reports).toMatchObject([
      { dueBy: "04-01", covers: "calendar-year", source: "R 460.3617" },
    ]);
    for (const asked of [
      "average months in service since the last test",
      "tightened",
      "purchase year",
      "as-found",
    ])
      expect(michigan.reports?.[0]?.what).toContain(asked);
  });
});
