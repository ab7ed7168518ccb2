import { indiana } from "@sealbook/metrology/profiles/places/indiana";
import { evaluateLot } from "@sealbook/metrology/sampling/decision/evaluate-lot";
import { planLot } from "@sealbook/metrology/sampling/decision/plan-lot";
import { shippedSchemes } from "@sealbook/metrology/sampling/schemes/shipped-schemes";
import { describe, expect, it } from "vitest";
import { verdictBy } from "./judged-by.ts";

// 170 IAC 4-1-10 (regulations.justia.com, current through 20 March 2024), (a) to the beginning of (c)(5).

describe("(b), Method A", () => {
  it("not more than a sixteen-year schedule", () => {
    expect(indiana.intervals.map(({ months }) => months)).toEqual([16 * 12]);
  });
});

describe("(c), Method B", () => {
  const preset = shippedSchemes.find(({ key }) => key === "indiana-in-service");
  // U and L were cut off: 102 and 98 are an assumption here, and asked of a person in the product.
  const scheme = {
    ...preset?.body,
    characteristics: [
      {
        characteristic: "full-load",
        limits: { minPercent: "98", maxPercent: "102", source: "assumption" },
        aqlPercent: null,
      },
    ],
  } as Parameters<typeof planLot>[0];
  const planned = (size: number) => planLot(scheme, size, {});

  it.each([
    [300, "refused"],
    [301, "planned"],
    [5_000, "planned"],
  ])("(2): no lot under 301; a lot of %i is %s", (size, kind) => {
    expect(planned(size).kind === "refused" ? "refused" : "planned").toBe(kind);
  });

  // Z1.9 Table A-2, level II: 281 to 400 is letter H, 401 to 500 I, 1,201 to 3,200 K, 3,201 to 10,000 L; Table B-3 gives
  // n = 20, 25, 50, 75. Read in the public copy of the 2003 edition in CRAN's AQLSchemes 1.7-2; the letters of lots of
  // 281 to 500 differ in a second public copy.
  it.each([
    [301, 20],
    [400, 20],
    [401, 25],
    [1_201, 50],
    [3_200, 50],
    [3_201, 75],
  ])("(3): inspection level II, a lot of %i asks for %i meters", (size, n) => {
    const plan = planned(size);
    if (plan.kind === "refused") throw new Error(plan.sentence);
    expect(plan.plan.n).toBe(n);
  });

  it("(4): judged at full load only, AQL 2.50, variability unknown, two limits", () => {
    expect(indiana.sampling).toMatchObject({
      standard: "ANSI/ASQC Z1.9-1993",
      aqlPercent: "2.50",
      judgedOn: ["full-load"],
      lotMin: 301,
      lotMax: null,
    });
  });

  const outcomeOf = (values: readonly string[]) => {
    const plan = planned(301);
    if (plan.kind === "refused") throw new Error(plan.sentence);
    return evaluateLot(
      scheme,
      plan.plan,
      values.map((fullLoad, index) => ({
        place: index + 1,
        meter: `M${index + 1}`,
        outcome: { kind: "tested", verdict: "pass", readings: { "full-load": fullLoad }, average: null },
      })),
    ).outcome;
  };
  it("(5): a sample well inside its limits is accepted, one that straddles them is not", () => {
    // Mean 100 and s about 0.1: the limits are 19 s away, nothing lies beyond. Mean 100 and s = 2 x sqrt(20 / 19) = 2.05:
    // each limit is 0.97 s away, some 16 % lie beyond each, far above M = 6.18 %.
    const tight = Array.from({ length: 20 }, (_, index) => (index % 2 === 0 ? "99.9" : "100.1"));
    const wide = Array.from({ length: 20 }, (_, index) => (index % 2 === 0 ? "98" : "102"));
    expect(outcomeOf(tight)).toBe("accepted");
    expect(outcomeOf(wide)).toBe("not-accepted");
  });
});

describe("what was not read is absent", () => {
  it("single meters are not judged, bills not adjusted, U and L not given", () => {
    expect(indiana).toMatchObject({ judged: [], limits: [], billAdjustment: null });
    expect(indiana.sampling).toMatchObject({ limits: null });
    expect(verdictBy(indiana, "in-service", { fl: "104" })).not.toBe("fail");
  });
});
