import { adjustBill } from "@sealbook/metrology/billing/adjust-bill";
import type { BillFinding } from "@sealbook/metrology/billing/bill-adjustment-terms";
import { billRuleSchema } from "@sealbook/metrology/billing/bill-rule";
import { shippedBillRules } from "@sealbook/metrology/billing/shipped-bill-rules";
import { z } from "zod";
import {
  asNumber,
  asText,
  type Calculation,
  defineCalculation,
  type NumberInput,
  nonNegativeInput,
  positiveInput,
} from "./calculation.ts";

const date = z.iso.date();
const ruleKeys = shippedBillRules.map(({ key }) => key);

const billAdjustment = defineCalculation({
  name: "bill-adjustment",
  summary:
    "Refund or charge for a meter found fast, slow, creeping or not registering, by a rule, line by line.",
  source: "the rule's own citation, which the result names",
  input: z.strictObject({
    rule: z
      .union([z.enum(ruleKeys), billRuleSchema])
      .describe("key of a rule that comes with the product, or a rule's own data"),
    averageRegistrationPercent: positiveInput
      .optional()
      .describe("as-found average registration; give this, or creep, or stopped"),
    creep: z
      .strictObject({
        whPerRevolution: positiveInput.describe("Kh, Wh per revolution"),
        secondsPerRevolution: positiveInput.describe("time of one revolution without load, s"),
        transformerFactor: positiveInput
          .optional()
          .describe("current ratio times voltage ratio; 1 unless given"),
      })
      .optional()
      .describe("the disk turns without load"),
    stopped: z.literal(true).optional().describe("the meter does not register, or not always"),
    testDate: date.describe("day of the test"),
    lastTestDate: date.nullable().optional().describe("day of the test before; null when there was none"),
    installationDate: date.optional().describe("day of installation at these premises"),
    testDueDate: date.nullable().optional().describe("day by which the periodic test was due"),
    knownStart: z
      .strictObject({ date, cause: z.enum(["established", "tampering"]) })
      .optional()
      .describe("since when the error is known to have been there, and why"),
    customer: z
      .enum(["current", "former"])
      .default("current")
      .describe("whether the customer still is one; current unless given"),
    billingPeriods: z
      .array(
        z.strictObject({
          from: date.describe("day of the earlier reading"),
          to: date.describe("day of the later reading; it belongs to the next period"),
          registeredKilowattHours: nonNegativeInput.describe("energy billed, kWh"),
          ratePerKilowattHour: nonNegativeInput.optional().describe("money per kWh"),
          charges: nonNegativeInput
            .optional()
            .describe("charges for metered service, where the rule takes a share of them"),
          comparableKilowattHours: z
            .array(nonNegativeInput)
            .max(100)
            .optional()
            .describe("kWh of comparable periods, for a stopped meter"),
        }),
      )
      .max(1200)
      .default([])
      .describe("in the order of time, without overlap"),
  }),
  output: z.object({
    outcome: z.enum(["adjustment", "no-adjustment"]),
    direction: z.enum(["refund", "charge"]).nullable().describe("null when nothing is adjusted"),
    duty: z.enum(["must", "may"]).nullable(),
    amount: z.number().describe("money in whole cents, not negative"),
    periodStart: z.string().nullable(),
    periodEnd: z.string().nullable(),
    periodMonths: z.number().nullable().describe("calendar months of the adjustment period"),
    uncoveredDays: z.number().describe("days of the adjustment period without a bill"),
    formula: z.string().nullable(),
    lines: z.array(
      z.object({
        from: z.string(),
        to: z.string(),
        days: z.number(),
        adjustedDays: z.number().describe("days of it that lie in the adjustment period"),
        registeredKilowattHours: z.number().describe("for the adjusted days"),
        correctedKilowattHours: z
          .number()
          .nullable()
          .describe("for the adjusted days; null where the rule takes a share of the charges"),
        charges: z
          .number()
          .nullable()
          .describe("for the adjusted days, where the rule takes a share of them"),
        amount: z.number().describe("positive: the customer owes it; negative: it goes back"),
      }),
    ),
    reason: z.string(),
    notes: z.array(z.string()).describe("what to check before the adjustment is used"),
  }),
  run(input) {
    const rule =
      typeof input.rule === "string" ? shippedBillRules.find(({ key }) => key === input.rule) : input.rule;
    if (rule === undefined) return { error: `There is no rule called ${String(input.rule)}.` };
    const findings: BillFinding[] = [];
    if (input.averageRegistrationPercent !== undefined) {
      findings.push({
        kind: "registration",
        averageRegistrationPercent: asText(input.averageRegistrationPercent),
      });
    }
    if (input.creep !== undefined) {
      findings.push({
        kind: "creep",
        whPerRevolution: asText(input.creep.whPerRevolution),
        secondsPerRevolution: asText(input.creep.secondsPerRevolution),
        transformerFactor: optionalText(input.creep.transformerFactor),
      });
    }
    if (input.stopped !== undefined) findings.push({ kind: "stopped" });
    const [finding, second] = findings;
    if (finding === undefined || second !== undefined) {
      return { error: "Give one finding: averageRegistrationPercent, creep or stopped." };
    }
    const result = adjustBill(rule, {
      finding,
      testDate: input.testDate,
      lastTestDate: input.lastTestDate,
      installationDate: input.installationDate,
      testDueDate: input.testDueDate,
      knownStart: input.knownStart,
      customer: input.customer,
      billingPeriods: input.billingPeriods.map((billed) => ({
        from: billed.from,
        to: billed.to,
        registeredKilowattHours: asText(billed.registeredKilowattHours),
        ratePerKilowattHour: optionalText(billed.ratePerKilowattHour),
        charges: optionalText(billed.charges),
        comparableKilowattHours: billed.comparableKilowattHours?.map(asText),
      })),
    });
    if (result.kind === "refused") return { error: result.reason };
    if (result.kind === "no-adjustment") {
      return {
        outcome: result.kind,
        direction: null,
        duty: null,
        amount: 0,
        periodStart: result.period?.start ?? null,
        periodEnd: result.period?.end ?? null,
        periodMonths: result.period === null ? null : asNumber(result.period.months),
        uncoveredDays: 0,
        formula: null,
        lines: [],
        reason: result.reason,
        notes: rule.notes,
      };
    }
    return {
      outcome: result.kind,
      direction: result.direction,
      duty: result.duty,
      amount: asNumber(result.total),
      periodStart: result.period.start,
      periodEnd: result.period.end,
      periodMonths: asNumber(result.period.months),
      uncoveredDays: result.uncoveredDays,
      formula: result.formula,
      lines: result.lines.map((line) => ({
        from: line.from,
        to: line.to,
        days: line.days,
        adjustedDays: line.adjustedDays,
        registeredKilowattHours: asNumber(line.registeredKilowattHours),
        correctedKilowattHours:
          line.correctedKilowattHours === null ? null : asNumber(line.correctedKilowattHours),
        charges: line.charges === null ? null : asNumber(line.charges),
        amount: asNumber(line.amount),
      })),
      reason: result.reason,
      notes: rule.notes,
    };
  },
});

function optionalText(value: NumberInput | undefined): string | undefined {
  return value === undefined ? undefined : asText(value);
}

export const billingCalculations: readonly Calculation[] = [billAdjustment];
