import fc from "fast-check";
import { describe, expect, it } from "vitest";
import type { DecisionRule } from "../accuracy/test-terms.ts";
import { Fraction } from "../fraction.ts";
import { judgeValue } from "./judge-value.ts";
import { marginToLimits } from "./margin-to-limits.ts";
import { readablePercent } from "./readable-percent.ts";

const limits = { minPercent: "98", maxPercent: "102", source: "04 NCAC 11 R08-13(a)" };
const simple: DecisionRule = { kind: "simple", source: "house rule" };
const guardBand = (uncertaintyMultiple = "1"): DecisionRule => ({
  kind: "guard-band",
  uncertaintyMultiple,
  source: "ILAC-G8:09/2019, 4.2.2",
});
const falseAccept = (maxProbability = "0.025"): DecisionRule => ({
  kind: "false-accept",
  maxProbability,
  source: "JCGM 106:2012, 8.3",
});

const judge = (value: string, rule: DecisionRule, uncertainty: string | null = null) =>
  judgeValue({
    value: Fraction.of(value),
    limits,
    rule,
    expandedUncertainty: uncertainty === null ? null : Fraction.of(uncertainty),
  });

describe("simple acceptance", () => {
  it.each([
    ["98", "pass", "0"],
    ["102", "pass", "0"],
    ["97.99", "fail", "-0.01"],
    ["102.000000000000000001", "fail", "-0.000000000000000001"],
    ["100.2", "pass", "1.8"],
  ])("judges %s as %s with margin %s", (value, verdict, marginPercent) => {
    expect(judge(value, simple)).toMatchObject({ verdict, marginPercent, limits, rule: simple });
  });

  it("names limit, source, margin and rule in its sentence", () => {
    expect(judge("101.4", simple).reason).toBe(
      "101.4 % is within 98 % to 102 % (04 NCAC 11 R08-13(a)), 0.6 % inside the upper limit. Simple acceptance (house rule).",
    );
    expect(judge("98", simple).reason).toContain("98 % is exactly on the lower limit of 98 % to 102 %");
    expect(judge("97", simple).reason).toContain("97 % is outside");
  });

  it("judges nothing without limits", () => {
    expect(
      judgeValue({ value: Fraction.of("50"), limits: null, rule: simple, expandedUncertainty: null }),
    ).toMatchObject({ verdict: "not-judged", marginPercent: null });
  });
});

describe("a sentence never rounds away what the verdict leans on", () => {
  it("beside the edge of a guard band", () => {
    // 102 - 0.04 = 101.96: 101.9601 is 0.0399 inside the limit, less than the band.
    const { verdict, reason } = judge("101.9601", guardBand(), "0.04");
    expect(verdict).toBe("fail");
    expect(reason).toContain("101.9601 % is within 98 % to 102 %");
    expect(reason).toContain("0.0399 % inside the upper limit");
    expect(judge("101.9599999", guardBand(), "0.04").reason).toContain("101.9599999 % is within");
  });

  it("beside the allowed probability of false accept", () => {
    // 101.9 with u 0.05 is two standard uncertainties inside: 1 - normal cdf(2) = 0.02275013..., six decimals 0.022750.
    const beyond = judge("101.9", falseAccept("0.02275"), "0.1");
    expect(beyond).toMatchObject({ verdict: "fail", falseAcceptProbability: "0.0227501" });
    expect(beyond.reason).toContain("0.0227501, at most 0.02275 is allowed");
    expect(judge("101.9", falseAccept(), "0.1").falseAcceptProbability).toBe("0.022750");
  });
});

describe("guard band", () => {
  it("accepts within T - rU, its edge included, and fails between there and the limit", () => {
    expect(judge("101.9", guardBand(), "0.1")).toMatchObject({
      verdict: "pass",
      acceptanceLimits: { minPercent: "98.1", maxPercent: "101.9" },
      marginPercent: "0.1",
    });
    const inBand = judge("101.91", guardBand(), "0.1");
    expect(inBand.verdict).toBe("fail");
    expect(inBand.reason).toContain("That is inside the guard band 0.1 % (1 U, ILAC-G8:09/2019, 4.2.2).");
    expect(judge("101.91", guardBand("0.5"), "0.1").verdict).toBe("pass");
    expect(judge("102.01", guardBand(), "0.1").reason).toContain("outside");
  });

  it("accepts nothing when the band leaves no room", () => {
    expect(judge("100", guardBand(), "2.1").verdict).toBe("fail");
    expect(judge("100", guardBand(), "2").verdict).toBe("pass");
  });

  it("needs the uncertainty for a value within the limits, not for one outside", () => {
    expect(judge("100", guardBand())).toMatchObject({ verdict: "undecided", acceptanceLimits: null });
    expect(judge("103", guardBand()).verdict).toBe("fail");
  });

  it("refuses a negative multiple or uncertainty as a broken precondition", () => {
    expect(() => judge("100", guardBand("-1"), "0.1")).toThrow(RangeError);
    expect(() => judge("100", guardBand(), "-0.1")).toThrow(RangeError);
  });
});

describe("probability of false accept", () => {
  it("passes at the allowed probability and fails above it", () => {
    // A value one U (k = 2) inside a far limit has the probability of z = 2: 0.022750 (normal table).
    expect(judge("101.9", falseAccept("0.02276"), "0.1")).toMatchObject({
      verdict: "pass",
      falseAcceptProbability: "0.022750",
    });
    expect(judge("101.9", falseAccept("0.02274"), "0.1").verdict).toBe("fail");
  });

  it("never accepts a value outside the limits", () => {
    expect(judge("102.0001", falseAccept("0.5"), "4").verdict).toBe("fail");
    // Beyond the limit by less than a double can tell: the probability is 0.5 to the last digit, the value is outside.
    expect(judge("102.00000000000000001", falseAccept("0.5"), "0.1")).toMatchObject({
      verdict: "fail",
      falseAcceptProbability: "0.500000",
    });
    expect(judge("102", falseAccept("0.5"), "0.1").verdict).toBe("pass");
    expect(judge("102", falseAccept("0.5"), "0").verdict).toBe("pass");
  });

  it("needs the uncertainty for a value within the limits, not for one outside", () => {
    expect(judge("100", falseAccept()).verdict).toBe("undecided");
    expect(judge("97", falseAccept()).verdict).toBe("fail");
  });

  it.each(["0", "0.51"])("refuses the largest probability %s as a broken precondition", (probability) => {
    expect(() => judge("100", falseAccept(probability), "0.1")).toThrow(RangeError);
  });
});

describe("margins", () => {
  it("refuses limits that are upside down", () => {
    expect(() => marginToLimits(Fraction.of("1"), { minPercent: "2", maxPercent: "1" })).toThrow(RangeError);
  });

  it("takes the lower limit when both are as near", () => {
    expect(marginToLimits(Fraction.of("100"), limits).nearest).toBe("lower");
  });

  it("reads out as many decimals as it takes not to contradict the limits", () => {
    expect(readablePercent(Fraction.of("102.00004"), ["98", "102"])).toBe("102.00004");
    expect(readablePercent(Fraction.of("100").plus(Fraction.of("1").dividedBy("3")), ["98"])).toBe("100.333");
    expect(readablePercent(Fraction.of("100"), ["98"])).toBe("100");
    expect(readablePercent(Fraction.of("102.0000000000001"), ["102"])).toBe("102.0000000000001");
    const beyondReading = Fraction.of("102").plus(Fraction.of("1").dividedBy(10n ** 31n));
    expect(readablePercent(beyondReading, ["102"])).toBe("102");
  });
});

describe("laws of judgement", () => {
  // Values on a 0.01 grid about the limits, as whole hundredths.
  const hundredths = fc.integer({ min: 9_700, max: 10_300 });
  const textOf = (n: number) => `${Math.trunc(n / 100)}.${String(n % 100).padStart(2, "0")}`;

  it("agrees with whole-number arithmetic at every boundary of a 0.01 grid", () => {
    fc.assert(
      fc.property(hundredths, hundredths, hundredths, (value, a, b) => {
        const [low, high] = a < b ? [a, b] : [b, a];
        const { verdict, marginPercent } = judgeValue({
          value: Fraction.of(textOf(value)),
          limits: { minPercent: textOf(low), maxPercent: textOf(high), source: "made up" },
          rule: simple,
          expandedUncertainty: null,
        });
        expect(verdict).toBe(low <= value && value <= high ? "pass" : "fail");
        const margin = Math.min(value - low, high - value);
        expect(
          Fraction.of(marginPercent ?? "0")
            .times("100")
            .equals(BigInt(margin)),
        ).toBe(true);
      }),
    );
  });

  it("never accepts with a guard band, or by probability, what simple acceptance rejects", () => {
    fc.assert(
      fc.property(
        hundredths,
        fc.integer({ min: 0, max: 500 }),
        fc.integer({ min: 0, max: 300 }),
        (value, u, r) => {
          const uncertainty = textOf(u);
          const strict = [guardBand(textOf(r)), falseAccept("0.5")];
          for (const rule of strict) {
            if (judge(textOf(value), rule, uncertainty).verdict === "pass") {
              expect(judge(textOf(value), simple).verdict).toBe("pass");
            }
          }
        },
      ),
    );
  });

  it("accepts no more as the guard band grows", () => {
    fc.assert(
      fc.property(
        hundredths,
        fc.integer({ min: 0, max: 300 }),
        fc.integer({ min: 0, max: 300 }),
        (value, u, more) => {
          if (judge(textOf(value), guardBand(), textOf(u + more)).verdict === "pass") {
            expect(judge(textOf(value), guardBand(), textOf(u)).verdict).toBe("pass");
          }
        },
      ),
    );
  });
});
