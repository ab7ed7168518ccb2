import type { DecimalString } from "../accuracy/test-terms.ts";
import type { LocalDate } from "../calendar/local-date.ts";
import type { Fraction } from "../fraction.ts";

/**
 * The words of a bill adjustment.
 *
 * - billing period: from one reading to the next; the day of the later reading belongs to the next period.
 * - adjustment period: the time for which the bills are corrected; it ends on the day of the test.
 * - refund: the customer gets money back; charge: the customer owes more.
 */

export type BillFinding =
  /** The as-found average registration in percent; > 0. */
  | { kind: "registration"; averageRegistrationPercent: DecimalString }
  /** The disk turns forward without load: the constant Kh in Wh per revolution, and the seconds of one revolution. */
  | {
      kind: "creep";
      whPerRevolution: DecimalString;
      secondsPerRevolution: DecimalString;
      /** Current ratio times voltage ratio; 1 unless given. */
      transformerFactor?: DecimalString | undefined;
    }
  /** The meter does not register, or not always. */
  | { kind: "stopped" };

export interface BillingPeriod {
  /** Day of the earlier reading. */
  from: LocalDate;
  /** Day of the later reading; after `from`. */
  to: LocalDate;
  /** Energy billed, kWh, transformer factor included; >= 0. */
  registeredKilowattHours: DecimalString;
  /** Money per kWh; >= 0. Needed where the rule corrects energy. */
  ratePerKilowattHour?: DecimalString | undefined;
  /** Charges for metered service; >= 0. Needed where the rule takes a share of the charges. */
  charges?: DecimalString | undefined;
  /** kWh registered over comparable periods; >= 0 each. Needed for a stopped meter. */
  comparableKilowattHours?: readonly DecimalString[] | undefined;
}

export interface BillAdjustmentInput {
  finding: BillFinding;
  /** Day of the test that found it. */
  testDate: LocalDate;
  /** Day of the test before; null when there was none; left out when nobody looked it up. */
  lastTestDate?: LocalDate | null | undefined;
  /** Day on which the meter was installed at these premises. */
  installationDate?: LocalDate | undefined;
  /** Day by which the periodic test was due; left out or null when it is not overdue. */
  testDueDate?: LocalDate | null | undefined;
  /** Since when the error is known to have been there, and why it is known. */
  knownStart?: { date: LocalDate; cause: "established" | "tampering" } | undefined;
  /** Whether the customer still is one; "current" unless given. */
  customer?: "current" | "former" | undefined;
  /** In the order of time, without overlap. */
  billingPeriods: readonly BillingPeriod[];
}

export interface AdjustmentPeriod {
  start: LocalDate;
  end: LocalDate;
  /** Calendar months from start to end, as the rule counted them. */
  months: Fraction;
  /** How the period came about, in words. */
  basis: string;
}

export interface AdjustedLine {
  from: LocalDate;
  to: LocalDate;
  days: number;
  /** Days of the billing period that lie in the adjustment period; the line's energy is that share of it. */
  adjustedDays: number;
  registeredKilowattHours: Fraction;
  /** Null where the rule takes a share of the charges and corrects no energy. */
  correctedKilowattHours: Fraction | null;
  /** Charges of the adjusted days, where the rule takes a share of them; else null. */
  charges: Fraction | null;
  /** Positive: the customer owes it. Negative: it goes back. In whole cents where the rule rounds each line. */
  amount: Fraction;
}

export type RefusalCode =
  | "dates-out-of-order"
  | "date-missing"
  | "known-start-needed"
  | "not-in-rule"
  | "billing-period-incomplete"
  | "billing-periods-overlap";

export interface BillAdjustment {
  kind: "adjustment";
  direction: "refund" | "charge";
  duty: "must" | "may";
  period: AdjustmentPeriod;
  /** Formula of a line's corrected energy or amount, in symbols. */
  formula: string;
  lines: AdjustedLine[];
  /** Sum of the lines, in whole cents, not negative; the direction says which way it goes. */
  total: Fraction;
  /** Days of the adjustment period that no billing period covers: bills are missing for them. */
  uncoveredDays: number;
  reason: string;
}

export type BillAdjustmentResult =
  | BillAdjustment
  | {
      kind: "no-adjustment";
      why: "within-threshold" | "no-duty" | "too-small" | "nothing-to-adjust";
      reason: string;
      /** The adjustment period, once the threshold is passed and the rule adjusts at all. */
      period: AdjustmentPeriod | null;
    }
  | { kind: "refused"; code: RefusalCode; reason: string };
