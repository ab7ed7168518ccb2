import { adjustBill } from "@sealbook/metrology/billing/adjust-bill";
import type { BillAdjustmentInput } from "@sealbook/metrology/billing/bill-adjustment-terms";
import { type BillRule, billRuleSchema } from "@sealbook/metrology/billing/bill-rule";
import { michiganBillRule } from "@sealbook/metrology/billing/rules/michigan";
import { newJerseyBillRule } from "@sealbook/metrology/billing/rules/new-jersey";
import { oklahomaBillRule } from "@sealbook/metrology/billing/rules/oklahoma";
import { pennsylvaniaBillRule } from "@sealbook/metrology/billing/rules/pennsylvania";
import { describe, expect, test } from "vitest";

/** The day of every test here; dates before it are counted by hand on a calendar. */
const testDate = "2026-11-25";

const registering = (averageRegistrationPercent: string) =>
  ({ kind: "registration", averageRegistrationPercent }) as const;

/** One bill of 1,000,000 kWh at 0.10 over the whole of the last 20 years, so that every period is covered. */
const oneBill = [
  { from: "2006-11-25", to: testDate, registeredKilowattHours: "1000000", ratePerKilowattHour: "0.10" },
];

function adjusted(
  rule: BillRule,
  input: Partial<BillAdjustmentInput> & Pick<BillAdjustmentInput, "finding">,
) {
  const result = adjustBill(rule, { testDate, billingPeriods: oneBill, ...input });
  if (result.kind !== "adjustment") throw new Error(result.reason);
  return {
    direction: result.direction,
    duty: result.duty,
    start: result.period.start,
    months: result.period.months.toText(),
    total: result.total.toFixed(2),
    result,
  };
}

const outcome = (
  rule: BillRule,
  input: Partial<BillAdjustmentInput> & Pick<BillAdjustmentInput, "finding">,
) => {
  const result = adjustBill(rule, { testDate, billingPeriods: oneBill, ...input });
  return result.kind === "no-adjustment" ? result.why : result.kind === "refused" ? result.code : result.kind;
};

describe("Pennsylvania, 52 Pa. Code 57.24", () => {
  test("average error +2.16 % (light load +4.0, heavy load +1.7), tested 30 months ago: refund for 12 months", () => {
    // Half of 30 is 15, the cap is 12. 12,000 kWh / 1.0216 = 11,746.28 kWh; 253.72 kWh at 0.10.
    const found = adjusted(pennsylvaniaBillRule, {
      finding: registering("102.16"),
      lastTestDate: "2024-05-25",
      billingPeriods: [
        { from: "2025-11-25", to: testDate, registeredKilowattHours: "12000", ratePerKilowattHour: "0.10" },
      ],
    });
    expect(found).toMatchObject({ direction: "refund", duty: "must", months: "12", start: "2025-11-25" });
    expect(found.total).toBe("25.37");
    expect(found.result.lines[0]?.correctedKilowattHours?.toFixed(2)).toBe("11746.28");
  });

  test("the same error, tested 10 months ago: half of the time", () => {
    expect(
      adjusted(pennsylvaniaBillRule, { finding: registering("102.16"), lastTestDate: "2026-01-25" }),
    ).toMatchObject({ months: "5", start: "2026-06-25" });
  });

  // Half the time since the last test, at most 3 months; the utility may charge.
  test.each([
    ["97", "2026-07-25", "2", "2026-09-25"],
    ["97", "2026-01-25", "3", "2026-08-25"],
    ["96", "2026-03-25", "3", "2026-08-25"],
  ])("slow at %s percent, tested on %s: %s months", (registration, lastTestDate, months, start) => {
    expect(
      adjusted(pennsylvaniaBillRule, { finding: registering(registration), lastTestDate }),
    ).toMatchObject({
      direction: "charge",
      duty: "may",
      months,
      start,
    });
  });

  test("970 kWh registered at 97 % were 1,000 kWh: 30 kWh at 0.10 are 3.00", () => {
    const found = adjusted(pennsylvaniaBillRule, {
      finding: registering("97"),
      lastTestDate: "2026-07-25",
      billingPeriods: [
        { from: "2026-09-25", to: testDate, registeredKilowattHours: "970", ratePerKilowattHour: "0.10" },
      ],
    });
    expect(found.total).toBe("3.00");
  });

  test.each(["102", "98", "101.9999", "100"])(
    "%s percent is not more than 2 percent off: nothing is adjusted",
    (registration) => {
      expect(
        outcome(pennsylvaniaBillRule, { finding: registering(registration), lastTestDate: "2024-05-25" }),
      ).toBe("within-threshold");
    },
  );

  test("just beyond 2 % is adjusted", () => {
    expect(
      outcome(pennsylvaniaBillRule, { finding: registering("102.0001"), lastTestDate: "2024-05-25" }),
    ).toBe("adjustment");
  });

  test("six months past the due date of the periodic test are added to the 12", () => {
    expect(
      adjusted(pennsylvaniaBillRule, {
        finding: registering("103"),
        lastTestDate: "2006-05-25",
        testDueDate: "2026-05-25",
      }),
    ).toMatchObject({ months: "18", start: "2025-05-25" });
  });

  test("a period that is definitely fixed is the period, whatever the cap", () => {
    expect(
      adjusted(pennsylvaniaBillRule, {
        finding: registering("103"),
        knownStart: { date: "2024-11-25", cause: "established" },
      }),
    ).toMatchObject({ months: "24", start: "2024-11-25" });
  });
});

describe("Oklahoma, OAC 165:35-15-22", () => {
  test("2.5 % fast, tested 20 months ago: refund for six months", () => {
    expect(
      adjusted(oklahomaBillRule, { finding: registering("102.5"), lastTestDate: "2025-03-25" }),
    ).toMatchObject({ direction: "refund", duty: "must", months: "6", start: "2026-05-25" });
  });
  test("2.5 % slow, tested 20 months ago: half is 10, at most 6 are charged", () => {
    expect(
      adjusted(oklahomaBillRule, { finding: registering("97.5"), lastTestDate: "2025-03-25" }),
    ).toMatchObject({ direction: "charge", duty: "must", months: "6" });
  });
  test("2.5 % slow, tested 8 months ago: 4 months", () => {
    expect(
      adjusted(oklahomaBillRule, { finding: registering("97.5"), lastTestDate: "2026-03-25" }),
    ).toMatchObject({ months: "4", start: "2026-07-25" });
  });
  test.each(["102", "98"])("%s percent is within 2 percent: nothing is adjusted", (registration) => {
    expect(
      outcome(oklahomaBillRule, { finding: registering(registration), lastTestDate: "2025-03-25" }),
    ).toBe("within-threshold");
  });
  test("a known cause lifts the six months for a fast meter, and only tampering does for a slow one", () => {
    const yearAgo = { date: "2025-11-25", cause: "established" } as const;
    const lastTestDate = "2025-03-25";
    expect(
      adjusted(oklahomaBillRule, { finding: registering("103"), knownStart: yearAgo, lastTestDate }).months,
    ).toBe("12");
    expect(
      adjusted(oklahomaBillRule, { finding: registering("97"), knownStart: yearAgo, lastTestDate }).months,
    ).toBe("6");
    expect(
      adjusted(oklahomaBillRule, {
        finding: registering("97"),
        knownStart: { ...yearAgo, cause: "tampering" },
        lastTestDate,
      }).months,
    ).toBe("12");
  });
  test("a stopped meter: the mean of the same time in two earlier years, six months at most unless tampered with", () => {
    const billingPeriods = [
      {
        from: "2026-10-25",
        to: testDate,
        registeredKilowattHours: "0",
        ratePerKilowattHour: "0.10",
        comparableKilowattHours: ["900", "1100"],
      },
    ];
    const established = adjusted(oklahomaBillRule, {
      finding: { kind: "stopped" },
      knownStart: { date: "2025-11-25", cause: "established" },
      billingPeriods,
    });
    expect(established).toMatchObject({ direction: "charge", duty: "may", months: "6", total: "100.00" });
    const tampered = adjusted(oklahomaBillRule, {
      finding: { kind: "stopped" },
      knownStart: { date: "2025-11-25", cause: "tampering" },
      billingPeriods,
    });
    expect(tampered.months).toBe("12");
  });
});

describe("Michigan, R 460.115a", () => {
  const twentyAndNine = { installationDate: "2006-11-25", lastTestDate: "2017-11-25" };
  test("2.5 % fast, installed 20 years and tested 9 years ago: min(10, 4.5, 6) years must be refunded", () => {
    expect(adjusted(michiganBillRule, { finding: registering("102.5"), ...twentyAndNine })).toMatchObject({
      direction: "refund",
      duty: "must",
      months: "54",
      start: "2022-05-25",
    });
  });
  test("2.5 % slow: the same period, but it may be charged", () => {
    expect(adjusted(michiganBillRule, { finding: registering("97.5"), ...twentyAndNine })).toMatchObject({
      direction: "charge",
      duty: "may",
      months: "54",
    });
  });
  test("installed 20 years ago and never tested since: six years", () => {
    expect(
      adjusted(michiganBillRule, {
        finding: registering("102.5"),
        installationDate: "2006-11-25",
        lastTestDate: null,
      }).months,
    ).toBe("72");
  });
  test("installed at these premises four years ago: two years", () => {
    expect(
      adjusted(michiganBillRule, {
        finding: registering("102.5"),
        installationDate: "2022-11-25",
        lastTestDate: "2017-11-25",
      }).months,
    ).toBe("24");
  });
  test("creeping: a quarter in place of half, min(5, 2.25, 6) years", () => {
    // Kh 7.2, 600 s a revolution: 43.2 W (standby.lbl.gov). 31 days x 24 h x 43.2 W = 32.1408 kWh, at 0.10 is 3.21.
    const found = adjusted(michiganBillRule, {
      finding: { kind: "creep", whPerRevolution: "7.2", secondsPerRevolution: "600" },
      ...twentyAndNine,
      billingPeriods: [
        { from: "2026-10-25", to: testDate, registeredKilowattHours: "1000", ratePerKilowattHour: "0.10" },
      ],
    });
    expect(found).toMatchObject({ direction: "refund", duty: "must", months: "27", start: "2024-08-25" });
    expect(found.total).toBe("3.21");
    expect(found.result.lines[0]?.correctedKilowattHours?.toText()).toBe("967.8592");
  });
  test.each(["102", "98"])(
    "an average inaccuracy of exactly 2 percent (%s) is not adjusted",
    (registration) => {
      expect(outcome(michiganBillRule, { finding: registering(registration), ...twentyAndNine })).toBe(
        "within-threshold",
      );
    },
  );
  test("tampering is adjusted within 2 % too, from its known beginning", () => {
    const found = adjusted(michiganBillRule, {
      finding: registering("99"),
      knownStart: { date: "2026-05-25", cause: "tampering" },
      ...twentyAndNine,
    });
    expect(found).toMatchObject({ direction: "charge", months: "6" });
  });
});

describe("New Jersey, N.J.A.C. 14:3-4.6", () => {
  const knownStart = { date: "2026-05-25", cause: "established" } as const;
  const charged = (charges: string) => [
    { from: "2026-05-25", to: testDate, registeredKilowattHours: "8000", charges },
  ];
  test("3 % fast means 3 % of the charges, not 3/103: 30.00 of 1,000.00", () => {
    const found = adjusted(newJerseyBillRule, {
      finding: registering("103"),
      knownStart,
      billingPeriods: charged("1000.00"),
    });
    expect(found).toMatchObject({ direction: "refund", duty: "must", total: "30.00", months: "6" });
  });
  test("the percentage goes to the total of the charges, so cents are rounded once", () => {
    // 3 % of 0.15 three times: each 0.0045 would round to nothing, together they are 0.0135.
    const found = adjusted(newJerseyBillRule, {
      finding: registering("103"),
      knownStart,
      billingPeriods: [
        { from: "2026-05-25", to: "2026-07-25", registeredKilowattHours: "1", charges: "0.15" },
        { from: "2026-07-25", to: "2026-09-25", registeredKilowattHours: "1", charges: "0.15" },
        { from: "2026-09-25", to: testDate, registeredKilowattHours: "1", charges: "0.15" },
      ],
    });
    expect(found.total).toBe("0.01");
  });
  test("exactly 2 % fast is not adjusted", () => {
    expect(
      outcome(newJerseyBillRule, {
        finding: registering("102"),
        knownStart,
        billingPeriods: charged("1000"),
      }),
    ).toBe("within-threshold");
  });
  test("a slow meter is not billed", () => {
    expect(
      outcome(newJerseyBillRule, { finding: registering("90"), knownStart, billingPeriods: charged("1000") }),
    ).toBe("no-duty");
  });
  test("without a known beginning the rule as read gives no period", () => {
    expect(outcome(newJerseyBillRule, { finding: registering("103"), lastTestDate: "2024-05-25" })).toBe(
      "known-start-needed",
    );
  });
});

describe("Minnesota (gas, the same pattern), Minn. R. 7820.3900, as a rule made from data alone", () => {
  const sign = {
    thresholdPercent: "2",
    duty: "must",
    correctTo: "hundred-percent",
    knownStart: { causes: ["established", "tampering"], capMonths: 12 },
    assumedPeriod: {
      shortestOf: [{ fraction: "0.5", since: "last-test" }],
      capMonths: 6,
      addMonthsOverdue: false,
    },
  };
  const rule = billRuleSchema.parse({
    ...pennsylvaniaBillRule,
    key: "us-mn-gas",
    place: "Minnesota",
    fast: sign,
    slow: sign,
    smallestAmount: { current: "1.00", former: "2.00" },
  });
  const finding = registering("104");
  test("half the time since the last test, at most six months", () => {
    expect(adjusted(rule, { finding, lastTestDate: "2026-05-25" }).months).toBe("3");
    expect(adjusted(rule, { finding, lastTestDate: "2024-11-25" }).months).toBe("6");
  });
  test("a known cause: from its date, at most one year", () => {
    const since = (date: string) =>
      adjusted(rule, { finding, knownStart: { date, cause: "established" } }).months;
    expect(since("2026-02-25")).toBe("9");
    expect(since("2023-11-25")).toBe("12");
  });
  test("refunded when it is more than one dollar, or two for a former customer", () => {
    // 4 % fast: 26.00 of charges at 1 per kWh is 1.00 too much, 26.26 is 1.01, 52.00 is 2.00.
    const owed = (kilowattHours: string, customer: "current" | "former") =>
      outcome(rule, {
        finding,
        customer,
        knownStart: { date: "2026-10-25", cause: "established" },
        billingPeriods: [
          {
            from: "2026-10-25",
            to: testDate,
            registeredKilowattHours: kilowattHours,
            ratePerKilowattHour: "1",
          },
        ],
      });
    expect(owed("26", "current")).toBe("too-small");
    expect(owed("26.26", "current")).toBe("adjustment");
    expect(owed("52", "former")).toBe("too-small");
    expect(owed("52.26", "former")).toBe("adjustment");
  });
});
