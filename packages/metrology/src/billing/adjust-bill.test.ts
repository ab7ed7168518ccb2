import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { Fraction } from "../fraction.ts";
import { adjustBill } from "./adjust-bill.ts";
import type { BillAdjustmentInput, BillingPeriod } from "./bill-adjustment-terms.ts";
import { type BillRule, billRuleSchema } from "./bill-rule.ts";
import { michiganBillRule } from "./rules/michigan.ts";
import { newJerseyBillRule } from "./rules/new-jersey.ts";
import { oklahomaBillRule } from "./rules/oklahoma.ts";
import { pennsylvaniaBillRule } from "./rules/pennsylvania.ts";
import { shippedBillRules } from "./shipped-bill-rules.ts";

const testDate = "2026-11-25";
const oneMonth: BillingPeriod = {
  from: "2026-10-25",
  to: testDate,
  registeredKilowattHours: "1000",
  ratePerKilowattHour: "0.10",
};
const known = { date: "2026-10-25", cause: "established" } as const;
const registering = (averageRegistrationPercent: string) =>
  ({ kind: "registration", averageRegistrationPercent }) as const;

const adjust = (rule: BillRule, input: Partial<BillAdjustmentInput> & Pick<BillAdjustmentInput, "finding">) =>
  adjustBill(rule, { testDate, billingPeriods: [oneMonth], ...input });

describe("rules that come with the product", () => {
  test.each(shippedBillRules.map((rule) => [rule.key, rule] as const))(
    "%s keeps the schema and says to verify",
    (_key, rule) => {
      expect(billRuleSchema.parse(rule)).toEqual(rule);
      expect(rule.notes[0]).toMatch(/^Verify against the current text/);
    },
  );
  test("no key is used twice", () => {
    expect(new Set(shippedBillRules.map(({ key }) => key)).size).toBe(shippedBillRules.length);
  });
});

describe("lines", () => {
  test("corrected kWh times R over 100 is what was registered, and each line is whole cents", () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 10_201, max: 15_000 }),
        fc.array(fc.integer({ min: 0, max: 1_000_000 }), { minLength: 1, maxLength: 5 }),
        fc.integer({ min: 1, max: 99_999 }),
        (hundredths, energies, rate) => {
          const result = adjust(pennsylvaniaBillRule, {
            finding: registering(
              `${Math.floor(hundredths / 100)}.${String(hundredths % 100).padStart(2, "0")}`,
            ),
            knownStart: { date: "2026-05-25", cause: "established" },
            billingPeriods: energies.map((energy, month) => ({
              from: `2026-0${5 + month}-25`.replace("-010-", "-10-"),
              to: `2026-0${6 + month}-25`.replace("-010-", "-10-"),
              registeredKilowattHours: String(energy),
              ratePerKilowattHour: `0.${String(rate).padStart(5, "0")}`,
            })),
          });
          if (result.kind !== "adjustment") return;
          expect(result.direction).toBe("refund");
          let sum = Fraction.of(0n);
          result.lines.forEach((line, index) => {
            expect(line.registeredKilowattHours.equals(String(energies[index]))).toBe(true);
            expect(
              line.correctedKilowattHours
                ?.times(BigInt(hundredths))
                .dividedBy("10000")
                .equals(line.registeredKilowattHours),
            ).toBe(true);
            expect(line.amount.times("100").denominator).toBe(1n);
            sum = sum.plus(line.amount);
          });
          expect(sum.negated().equals(result.total)).toBe(true);
        },
      ),
    );
  });

  test("half a cent goes away from zero", () => {
    // 100 kWh registered at 125 % were 80: 20 kWh at 0.00025 are half a cent.
    const result = adjust(pennsylvaniaBillRule, {
      finding: registering("125"),
      knownStart: known,
      billingPeriods: [{ ...oneMonth, registeredKilowattHours: "100", ratePerKilowattHour: "0.00025" }],
    });
    expect(result.kind === "adjustment" && result.total.toFixed(2)).toBe("0.01");
  });

  test("a billing period counts by the share of its days, and days without a bill are told", () => {
    // 10 of 31 days of October 25 to November 25, known from November 5 on; the bill ends ten days early.
    const result = adjust(pennsylvaniaBillRule, {
      finding: registering("125"),
      knownStart: { date: "2026-11-05", cause: "established" },
      billingPeriods: [
        { ...oneMonth, from: "2026-09-25", to: "2026-10-15" },
        { ...oneMonth, from: "2026-10-15", to: "2026-11-15", registeredKilowattHours: "310" },
      ],
    });
    if (result.kind !== "adjustment") throw new Error("an adjustment was expected");
    expect(result.lines).toHaveLength(1);
    expect(result.lines[0]).toMatchObject({ days: 31, adjustedDays: 10 });
    expect(result.lines[0]?.registeredKilowattHours.toText()).toBe("100");
    expect(result.total.toFixed(2)).toBe("2.00");
    expect(result.uncoveredDays).toBe(10);
    expect(result.reason).toContain("Bills are missing for 10 days");
  });

  test("corrected to the limit, where the rule says so, instead of to 100 %", () => {
    const toLimit: BillRule = {
      ...pennsylvaniaBillRule,
      fast: { ...pennsylvaniaBillRule.fast, correctTo: "limit" },
      slow: { ...pennsylvaniaBillRule.slow, correctTo: "limit" },
      tamperingHasNoThreshold: true,
    };
    const corrected = (registration: string, cause: "established" | "tampering") => {
      const result = adjust(toLimit, { finding: registering(registration), knownStart: { ...known, cause } });
      return result.kind === "adjustment" ? result.lines[0]?.correctedKilowattHours?.toText() : result.kind;
    };
    // 1,000 x 102 / 104 and 1,000 x 98 / 96, by hand.
    expect(corrected("104", "established")).toBe("980.769230769");
    expect(corrected("96", "established")).toBe("1020.83333333");
    // Within the limits only tampering is adjusted, and there is no limit to stop at.
    expect(corrected("101", "tampering")).toBe("990.099009901");
    expect(corrected("101", "established")).toBe("no-adjustment");
    expect(corrected("100", "tampering")).toBe("no-adjustment");
  });

  test("creep cannot take more than was registered", () => {
    const result = adjust(michiganBillRule, {
      finding: { kind: "creep", whPerRevolution: "7.2", secondsPerRevolution: "10", transformerFactor: "40" },
      knownStart: known,
    });
    if (result.kind !== "adjustment") throw new Error("an adjustment was expected");
    expect(result.lines[0]?.correctedKilowattHours?.toText()).toBe("0");
    expect(result.total.toFixed(2)).toBe("100.00");
  });

  test("a stopped meter that registered more than the estimate gives money back", () => {
    const result = adjust(oklahomaBillRule, {
      finding: { kind: "stopped" },
      knownStart: known,
      billingPeriods: [{ ...oneMonth, comparableKilowattHours: ["900"] }],
    });
    expect(result).toMatchObject({ kind: "adjustment", direction: "refund" });
    expect(result.kind === "adjustment" && result.total.toFixed(2)).toBe("10.00");
  });

  test("charges of the adjusted days are shown where the rule takes a share of them", () => {
    const result = adjust(newJerseyBillRule, {
      finding: registering("110"),
      knownStart: { date: "2026-11-15", cause: "established" },
      billingPeriods: [{ from: "2026-10-26", to: testDate, registeredKilowattHours: "1", charges: "300" }],
    });
    if (result.kind !== "adjustment") throw new Error("an adjustment was expected");
    expect(result.lines[0]?.charges?.toText()).toBe("100");
    expect(result.lines[0]?.correctedKilowattHours).toBeNull();
    expect(result.total.toFixed(2)).toBe("10.00");
  });
});

describe("no adjustment", () => {
  const why = (...given: Parameters<typeof adjust>) => {
    const result = adjust(...given);
    return result.kind === "no-adjustment"
      ? [result.why, result.period?.months.toText() ?? null]
      : result.kind;
  };
  test("a meter that registers truly", () => {
    expect(adjust(pennsylvaniaBillRule, { finding: registering("100") })).toMatchObject({
      why: "within-threshold",
      reason: "The meter registers truly.",
    });
  });
  test("an amount of nothing, with the period all the same", () => {
    expect(
      why(pennsylvaniaBillRule, {
        finding: registering("103"),
        lastTestDate: "2026-09-25",
        billingPeriods: [],
      }),
    ).toEqual(["nothing-to-adjust", "1"]);
  });
  test("an amount up to the smallest one", () => {
    const rule = { ...pennsylvaniaBillRule, smallestAmount: { current: "5.00", former: "5.00" } };
    // 1,000 kWh at 105 % were 952.38: 4.76.
    expect(why(rule, { finding: registering("105"), knownStart: known })).toEqual(["too-small", "1"]);
    expect(why(rule, { finding: registering("106"), knownStart: known })).toBe("adjustment");
  });
});

describe("refusals", () => {
  const code = (...given: Parameters<typeof adjust>) => {
    const result = adjust(...given);
    return result.kind === "refused" ? result.code : result.kind;
  };
  const fast = registering("103");

  test("a date that the rule counts from is missing, or comes after the test", () => {
    expect(code(pennsylvaniaBillRule, { finding: fast })).toBe("date-missing");
    expect(code(michiganBillRule, { finding: fast, lastTestDate: null })).toBe("date-missing");
    expect(code(pennsylvaniaBillRule, { finding: fast, lastTestDate: "2026-11-26" })).toBe(
      "dates-out-of-order",
    );
    expect(code(pennsylvaniaBillRule, { finding: fast, knownStart: { ...known, date: "2026-11-26" } })).toBe(
      "dates-out-of-order",
    );
  });
  test("a rule that counts from the last test, of a meter that was never tested", () => {
    expect(code(pennsylvaniaBillRule, { finding: fast, lastTestDate: null })).toBe("known-start-needed");
  });
  test("a stopped meter without the day on which it stopped", () => {
    expect(code(oklahomaBillRule, { finding: { kind: "stopped" } })).toBe("known-start-needed");
  });
  test("what the rule says nothing of", () => {
    expect(code(pennsylvaniaBillRule, { finding: { kind: "stopped" }, knownStart: known })).toBe(
      "not-in-rule",
    );
    expect(
      code(oklahomaBillRule, {
        finding: { kind: "creep", whPerRevolution: "7.2", secondsPerRevolution: "60" },
      }),
    ).toBe("not-in-rule");
  });
  test("a bill that lacks what the rule needs", () => {
    const { ratePerKilowattHour: _rate, ...withoutRate } = oneMonth;
    const stopped = { finding: { kind: "stopped" }, knownStart: known } as const;
    expect(
      code(pennsylvaniaBillRule, { finding: fast, knownStart: known, billingPeriods: [withoutRate] }),
    ).toBe("billing-period-incomplete");
    expect(code(newJerseyBillRule, { finding: fast, knownStart: known })).toBe("billing-period-incomplete");
    expect(code(oklahomaBillRule, stopped)).toBe("billing-period-incomplete");
    expect(
      code(oklahomaBillRule, { ...stopped, billingPeriods: [{ ...oneMonth, comparableKilowattHours: [] }] }),
    ).toBe("billing-period-incomplete");
    expect(
      code(oklahomaBillRule, {
        ...stopped,
        billingPeriods: [{ ...withoutRate, comparableKilowattHours: ["1"] }],
      }),
    ).toBe("billing-period-incomplete");
  });
  test("bills that overlap or end before they begin", () => {
    const bills = (...billingPeriods: BillingPeriod[]) =>
      code(pennsylvaniaBillRule, { finding: fast, knownStart: known, billingPeriods });
    expect(bills({ ...oneMonth, from: testDate })).toBe("dates-out-of-order");
    expect(bills({ ...oneMonth, to: "2026-11-10" }, { ...oneMonth, from: "2026-11-09" })).toBe(
      "billing-periods-overlap",
    );
    expect(bills({ ...oneMonth, to: "2026-11-10" }, { ...oneMonth, from: "2026-11-10" })).toBe("adjustment");
  });
  test("a known beginning that does not count is told, and the assumed period taken", () => {
    const result = adjust(oklahomaBillRule, {
      finding: registering("97"),
      knownStart: known,
      lastTestDate: "2026-07-25",
    });
    expect(result.kind === "adjustment" && result.period.basis).toBe(
      "The known beginning does not count under this rule. Half the time since the last test on 2026-07-25: 2 months.",
    );
  });
  test("a test due in the future lengthens no cap, and a rule without a cap has none", () => {
    const months = (rule: BillRule, testDueDate: string) => {
      const result = adjust(rule, { finding: fast, lastTestDate: "2020-11-25", testDueDate });
      return result.kind === "adjustment" ? result.period.months.toText() : result.kind;
    };
    expect(months(pennsylvaniaBillRule, "2027-01-25")).toBe("12");
    expect(months(pennsylvaniaBillRule, "2026-10-25")).toBe("13");
    const uncapped: BillRule = {
      ...pennsylvaniaBillRule,
      fast: {
        ...pennsylvaniaBillRule.fast,
        assumedPeriod: {
          shortestOf: [{ fraction: "0.5", since: "last-test" }],
          capMonths: null,
          addMonthsOverdue: true,
        },
      },
    };
    expect(months(uncapped, "2026-10-25")).toBe("36");
  });
  test("impossible numbers break a precondition", () => {
    const broken = (
      input: Partial<BillAdjustmentInput> & Pick<BillAdjustmentInput, "finding">,
      rule = pennsylvaniaBillRule,
    ) => expect(() => adjust(rule, { knownStart: known, ...input })).toThrow(RangeError);
    broken({ finding: registering("0") });
    broken({ finding: registering("abc") });
    broken({ finding: fast, billingPeriods: [{ ...oneMonth, registeredKilowattHours: "-1" }] });
    broken({ finding: fast, billingPeriods: [{ ...oneMonth, ratePerKilowattHour: "-1" }] });
    broken({ finding: fast, testDate: "2026-02-30" });
    broken({ finding: fast, billingPeriods: [{ ...oneMonth, charges: "-1" }] }, newJerseyBillRule);
    broken(
      { finding: { kind: "stopped" }, billingPeriods: [{ ...oneMonth, comparableKilowattHours: ["-1"] }] },
      oklahomaBillRule,
    );
    for (const [whPerRevolution, secondsPerRevolution, transformerFactor] of [
      ["0", "1", "1"],
      ["1", "0", "1"],
      ["1", "1", "0"],
    ] as const) {
      broken(
        { finding: { kind: "creep", whPerRevolution, secondsPerRevolution, transformerFactor } },
        michiganBillRule,
      );
    }
  });
});
