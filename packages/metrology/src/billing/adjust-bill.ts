import { Fraction } from "../fraction.ts";
import { requirePositive } from "../require-positive.ts";
import { adjustLines, type LineRule } from "./adjust-lines.ts";
import { adjustmentPeriod, type PeriodResult } from "./adjustment-period.ts";
import type { AdjustmentPeriod, BillAdjustmentInput, BillAdjustmentResult } from "./bill-adjustment-terms.ts";
import type { BillRule, SignRule } from "./bill-rule.ts";

/**
 * Adjusts bills for a meter that was found fast, slow, creeping or not registering, as a rule says.
 *
 * A fast or slow meter: corrected kWh = registered kWh x 100 / R over the adjustment period, line by line; a rule
 * may take the percent error of the charges instead. A billing period that lies only partly in the adjustment period
 * counts by its share of days. A creeping meter: the creep's watts over the days. A stopped meter: the mean of
 * comparable periods in place of what was registered.
 *
 * @param rule the bill-adjustment part of a rule profile
 * @param input what was found, the dates, and the bills of the time; decimals as typed
 * @returns refund or charge with its lines, that nothing is adjusted and why, or what is missing
 * @throws RangeError if a number is no decimal, a registration or constant is not positive, an energy, rate or charge
 *   is negative, or a date does not exist
 * @source the rule's own citation
 * @example 3 % fast, New Jersey, charges of 1,000.00 over the known period // refund 30.00 (N.J.A.C. 14:3-4.6(b))
 */
export function adjustBill(rule: BillRule, input: BillAdjustmentInput): BillAdjustmentResult {
  switch (input.finding.kind) {
    case "registration":
      return adjustForRegistration(rule, input, input.finding.averageRegistrationPercent);
    case "creep":
      return adjustForCreep(rule, input, input.finding);
    case "stopped":
      return adjustForStopped(rule, input);
  }
}

function adjustForRegistration(
  rule: BillRule,
  input: BillAdjustmentInput,
  averageRegistrationPercent: string,
): BillAdjustmentResult {
  const registration = Fraction.of(averageRegistrationPercent);
  requirePositive("average registration", registration);
  const error = registration.minus("100");
  const isFast = error.isPositive();
  const sign = isFast ? rule.fast : rule.slow;
  const pace = isFast ? "fast" : "slow";
  const finding = `The meter is ${error.absolute().toText()} % ${pace}`;

  const passesThreshold = error.absolute().isGreaterThan(sign.thresholdPercent);
  const isTampered =
    rule.tamperingHasNoThreshold && input.knownStart?.cause === "tampering" && !error.equals("0");
  if (!passesThreshold && !isTampered) {
    const reason = error.equals("0")
      ? "The meter registers truly."
      : `${finding}; bills are adjusted above ${sign.thresholdPercent} %.`;
    return { kind: "no-adjustment", why: "within-threshold", reason, period: null };
  }
  if (sign.duty === "none") {
    return {
      kind: "no-adjustment",
      why: "no-duty",
      reason: `${finding}; the rule adjusts no bill for that.`,
      period: null,
    };
  }
  const target = passesThreshold ? targetPercent(sign, isFast) : Fraction.of("100");
  const { basis, rounding } = rule.amount;
  const lineRule: LineRule = { kind: basis, registration, target, rounding };
  const period = adjustmentPeriod(sign.knownStart, sign.assumedPeriod, input);
  return finish(rule, input, period, lineRule, sign.duty, finding);
}

/** The registration that the use is corrected to: 100 %, or the limit that the meter has passed. */
function targetPercent(sign: SignRule, isFast: boolean): Fraction {
  const hundred = Fraction.of("100");
  if (sign.correctTo === "hundred-percent") return hundred;
  return isFast ? hundred.plus(sign.thresholdPercent) : hundred.minus(sign.thresholdPercent);
}

function adjustForCreep(
  rule: BillRule,
  input: BillAdjustmentInput,
  finding: BillAdjustmentInput["finding"] & { kind: "creep" },
): BillAdjustmentResult {
  if (rule.creep === null) {
    return {
      kind: "refused",
      code: "not-in-rule",
      reason: `The rule of ${rule.place}, as far as it was read, has no adjustment of its own for creep.`,
    };
  }
  const perRevolution = Fraction.of(finding.whPerRevolution);
  const seconds = Fraction.of(finding.secondsPerRevolution);
  const factor = Fraction.of(finding.transformerFactor ?? "1");
  requirePositive("whPerRevolution", perRevolution);
  requirePositive("secondsPerRevolution", seconds);
  requirePositive("transformerFactor", factor);
  const watts = perRevolution.times("3600").times(factor).dividedBy(seconds);
  const period = adjustmentPeriod(rule.creep.knownStart, rule.creep.assumedPeriod, input);
  const lineRule: LineRule = { kind: "creep", watts, rounding: rule.amount.rounding };
  return finish(rule, input, period, lineRule, rule.creep.duty, `The meter creeps at ${watts.toText(6)} W`);
}

function adjustForStopped(rule: BillRule, input: BillAdjustmentInput): BillAdjustmentResult {
  if (rule.stopped === null) {
    return {
      kind: "refused",
      code: "not-in-rule",
      reason: `The rule of ${rule.place}, as far as it was read, has no estimate for a meter that does not register.`,
    };
  }
  const { capMonths, tamperingLiftsCap } = rule.stopped;
  const isTampering = input.knownStart?.cause === "tampering";
  if (input.knownStart === undefined) {
    return {
      kind: "refused",
      code: "known-start-needed",
      reason: "Give the day since which the meter did not register, as the readings show it.",
    };
  }
  const period = adjustmentPeriod(
    { causes: ["established", "tampering"], capMonths: isTampering && tamperingLiftsCap ? null : capMonths },
    null,
    input,
  );
  const lineRule: LineRule = { kind: "estimate", rounding: rule.amount.rounding };
  return finish(
    rule,
    input,
    period,
    lineRule,
    rule.stopped.duty,
    "The meter did not register, or not always",
  );
}

function finish(
  rule: BillRule,
  input: BillAdjustmentInput,
  period: PeriodResult,
  lineRule: LineRule,
  duty: "must" | "may",
  finding: string,
): BillAdjustmentResult {
  if (period.kind === "refused") return period;
  const adjusted = adjustLines(lineRule, input.billingPeriods, period.period);
  if (adjusted.kind === "refused") return adjusted;
  const { lines, uncoveredDays, formula } = adjusted;
  const sum = lines.reduce((total, line) => total.plus(line.amount), Fraction.of(0n));
  const total = Fraction.of(sum.absolute().toFixed(2));
  if (total.equals("0")) {
    return {
      kind: "no-adjustment",
      why: "nothing-to-adjust",
      period: period.period,
      reason: `${finding}, but over ${spanOf(period.period)} that comes to nothing.`,
    };
  }
  const smallest = rule.smallestAmount?.[input.customer ?? "current"];
  if (smallest !== undefined && !total.isGreaterThan(smallest)) {
    return {
      kind: "no-adjustment",
      why: "too-small",
      period: period.period,
      reason: `${finding}; ${total.toFixed(2)} is not more than ${smallest}, the smallest amount that is adjusted.`,
    };
  }
  const direction = sum.isPositive() ? "charge" : "refund";
  const duties = { must: "must be", may: "may be" } as const;
  const moved = direction === "charge" ? "charged to the customer" : "refunded to the customer";
  const missing = uncoveredDays === 0 ? "" : ` Bills are missing for ${uncoveredDays} days of it.`;
  return {
    kind: "adjustment",
    direction,
    duty,
    period: period.period,
    formula,
    lines,
    total,
    uncoveredDays,
    reason: `${finding}; ${total.toFixed(2)} ${duties[duty]} ${moved}. ${period.period.basis}${missing} ${rule.citation.title}.`,
  };
}

function spanOf({ start, end }: AdjustmentPeriod): string {
  return `${start} to ${end}`;
}
