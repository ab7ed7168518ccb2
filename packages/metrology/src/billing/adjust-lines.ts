import { daysBetween } from "../calendar/local-date.ts";
import { Fraction } from "../fraction.ts";
import type { AdjustedLine, AdjustmentPeriod, BillingPeriod, RefusalCode } from "./bill-adjustment-terms.ts";

/** How the energy or the money of a billing period is corrected. */
export type LineRule = { rounding: "each-line" | "total" } & (
  | { kind: "energy-rate"; registration: Fraction; target: Fraction }
  | { kind: "share-of-charges"; registration: Fraction; target: Fraction }
  | { kind: "creep"; watts: Fraction }
  | { kind: "estimate" }
);

export type LinesResult =
  | { kind: "lines"; lines: AdjustedLine[]; uncoveredDays: number; formula: string }
  | { kind: "refused"; code: RefusalCode; reason: string };

const formulas = {
  "energy-rate": "corrected kWh = registered kWh x target % / R %; amount = (corrected - registered) x rate",
  "share-of-charges": "amount = -charges x (R - target) / 100",
  creep:
    "corrected kWh = registered kWh - creep W x 24 h x days / 1000; amount = (corrected - registered) x rate",
  estimate: "corrected kWh = mean of the comparable periods; amount = (corrected - registered) x rate",
} as const;

/**
 * Corrects the billing periods that lie in the adjustment period, each by its share of days.
 *
 * @param rule how a line is corrected and what is rounded to whole cents, half a cent away from zero
 * @param billingPeriods in the order of time
 * @param adjustment the time that is corrected
 * @returns one line for each billing period that is touched, or which bill is incomplete or out of order
 * @throws RangeError if a number is no decimal or is negative, or a date does not exist
 * @source the rule's own citation; the share of days is common practice, no source
 * @example 1,000 kWh at 0.10 registered by a meter at 102.5 % // corrected 975.6097..., amount -2.44
 */
export function adjustLines(
  rule: LineRule,
  billingPeriods: readonly BillingPeriod[],
  adjustment: AdjustmentPeriod,
): LinesResult {
  const lines: AdjustedLine[] = [];
  let coveredDays = 0;
  let previousEnd: string | null = null;
  for (const billed of billingPeriods) {
    const days = daysBetween(billed.from, billed.to);
    if (days <= 0) {
      return refused(
        "dates-out-of-order",
        `A billing period ends after it begins; got ${billed.from} to ${billed.to}.`,
      );
    }
    if (previousEnd !== null && daysBetween(previousEnd, billed.from) < 0) {
      return refused(
        "billing-periods-overlap",
        `The billing period from ${billed.from} begins before the one before it has ended, on ${previousEnd}.`,
      );
    }
    previousEnd = billed.to;
    const adjustedDays = sharedDays(billed, adjustment);
    if (adjustedDays === 0) continue;
    coveredDays += adjustedDays;
    const line = adjustLine(rule, billed, days, adjustedDays);
    if (line === null) return refused("billing-period-incomplete", incomplete(rule, billed));
    lines.push(line);
  }
  return {
    kind: "lines",
    lines,
    uncoveredDays: daysBetween(adjustment.start, adjustment.end) - coveredDays,
    formula: formulas[rule.kind],
  };
}

function sharedDays(billed: BillingPeriod, adjustment: AdjustmentPeriod): number {
  const from = daysBetween(adjustment.start, billed.from) > 0 ? billed.from : adjustment.start;
  const to = daysBetween(billed.to, adjustment.end) > 0 ? billed.to : adjustment.end;
  return Math.max(0, daysBetween(from, to));
}

function adjustLine(
  rule: LineRule,
  billed: BillingPeriod,
  days: number,
  adjustedDays: number,
): AdjustedLine | null {
  const share = Fraction.of(BigInt(adjustedDays)).dividedBy(BigInt(days));
  const registered = notNegative("registeredKilowattHours", billed.registeredKilowattHours).times(share);
  const line = { from: billed.from, to: billed.to, days, adjustedDays, registeredKilowattHours: registered };
  const cents = (amount: Fraction) =>
    rule.rounding === "each-line" ? Fraction.of(amount.toFixed(2)) : amount;

  if (rule.kind === "share-of-charges") {
    if (billed.charges === undefined) return null;
    const charges = notNegative("charges", billed.charges).times(share);
    // The percent by which the meter passes its target; a fast meter gives it back.
    const amount = charges.times(rule.target.minus(rule.registration)).dividedBy("100");
    return { ...line, correctedKilowattHours: null, charges, amount: cents(amount) };
  }
  const corrected = correctedEnergy(rule, billed, registered, share, adjustedDays);
  if (corrected === null || billed.ratePerKilowattHour === undefined) return null;
  const rate = notNegative("ratePerKilowattHour", billed.ratePerKilowattHour);
  const amount = corrected.minus(registered).times(rate);
  return { ...line, correctedKilowattHours: corrected, charges: null, amount: cents(amount) };
}

function correctedEnergy(
  rule: Exclude<LineRule, { kind: "share-of-charges" }>,
  billed: BillingPeriod,
  registered: Fraction,
  share: Fraction,
  adjustedDays: number,
): Fraction | null {
  switch (rule.kind) {
    case "energy-rate":
      return registered.times(rule.target).dividedBy(rule.registration);
    case "creep": {
      const crept = rule.watts.times("24").times(BigInt(adjustedDays)).dividedBy("1000");
      // A meter cannot have crept more than it has registered.
      return crept.isGreaterThan(registered) ? Fraction.of(0n) : registered.minus(crept);
    }
    case "estimate": {
      const comparable = billed.comparableKilowattHours ?? [];
      if (comparable.length === 0) return null;
      const sum = comparable.reduce(
        (total, energy) => total.plus(notNegative("comparableKilowattHours", energy)),
        Fraction.of(0n),
      );
      return sum.dividedBy(BigInt(comparable.length)).times(share);
    }
  }
}

function notNegative(name: string, text: string): Fraction {
  const value = Fraction.of(text);
  if (value.isLessThan("0")) throw new RangeError(`${name} must not be negative, got ${text}`);
  return value;
}

function incomplete(rule: LineRule, billed: BillingPeriod): string {
  const needs = {
    "energy-rate": "its rate per kWh",
    "share-of-charges": "its charges for metered service",
    creep: "its rate per kWh",
    estimate: "its rate per kWh and the energy of one comparable period or more",
  } as const;
  return `The billing period from ${billed.from} to ${billed.to} needs ${needs[rule.kind]}.`;
}

function refused(code: RefusalCode, reason: string): LinesResult {
  return { kind: "refused", code, reason };
}
