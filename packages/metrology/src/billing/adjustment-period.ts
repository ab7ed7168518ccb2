import { daysBetween } from "../calendar/local-date.ts";
import { monthsBefore, monthsBetween } from "../calendar/months-before.ts";
import { Fraction } from "../fraction.ts";
import type { AdjustmentPeriod, BillAdjustmentInput, RefusalCode } from "./bill-adjustment-terms.ts";
import type { AssumedPeriod, KnownStartRule } from "./bill-rule.ts";

export type PeriodResult =
  | { kind: "period"; period: AdjustmentPeriod }
  | { kind: "refused"; code: RefusalCode; reason: string };

type Dates = Pick<
  BillAdjustmentInput,
  "testDate" | "lastTestDate" | "installationDate" | "testDueDate" | "knownStart"
>;

const partNames = { "1": "the time", "0.5": "half the time", "0.25": "a quarter of the time" } as const;
const spanNames = { "last-test": "the last test", installation: "installation at these premises" } as const;

/**
 * The time for which bills are corrected: from the known beginning of the error where the rule lets it count, else
 * the period that the rule assumes. It ends on the day of the test.
 *
 * @param knownStartRule which causes' dates count, and the cap that stays
 * @param assumed the rule's assumed period; null when it has none
 * @param dates of the test, the last test, the installation, and the known beginning
 * @returns the period with the words for it, or which date is missing or out of order
 * @source the rule's own citation; months by calendar, see monthsBetween
 * @example half the time since a test 30 months ago, at most 12 months // 12 months (52 Pa. Code 57.24(b))
 */
export function adjustmentPeriod(
  knownStartRule: KnownStartRule,
  assumed: AssumedPeriod | null,
  dates: Dates,
): PeriodResult {
  const { testDate, knownStart } = dates;
  if (knownStart !== undefined) {
    if (daysBetween(knownStart.date, testDate) < 0) {
      return outOfOrder(`The known beginning ${knownStart.date} is after the test ${testDate}.`);
    }
    if (knownStartRule.causes.includes(knownStart.cause)) {
      const why = knownStart.cause === "tampering" ? "tampering" : "a cause whose date is established";
      return capped(
        monthsBetween(knownStart.date, testDate),
        knownStartRule.capMonths === null ? null : Fraction.of(BigInt(knownStartRule.capMonths)),
        testDate,
        `From the known beginning ${knownStart.date} (${why})`,
      );
    }
  }
  if (assumed === null) {
    return {
      kind: "refused",
      code: "known-start-needed",
      reason:
        "The rule, as far as it was read, gives no period for an unknown beginning; give the known beginning.",
    };
  }
  return assumedPeriod(assumed, dates);
}

function assumedPeriod(assumed: AssumedPeriod, dates: Dates): PeriodResult {
  const { testDate, testDueDate = null } = dates;
  let shortest: { months: Fraction; basis: string } | null = null;
  for (const { fraction, since } of assumed.shortestOf) {
    const from = since === "last-test" ? dates.lastTestDate : dates.installationDate;
    if (from === undefined) {
      return {
        kind: "refused",
        code: "date-missing",
        reason: `The rule needs the date of ${spanNames[since]}.`,
      };
    }
    // A meter that was never tested before has no such span; the others remain.
    if (from === null) continue;
    if (daysBetween(from, testDate) < 0) {
      return outOfOrder(`The date of ${spanNames[since]}, ${from}, is after the test ${testDate}.`);
    }
    const months = monthsBetween(from, testDate).times(fraction);
    if (shortest === null || months.isLessThan(shortest.months)) {
      shortest = { months, basis: `${capital(partNames[fraction])} since ${spanNames[since]} on ${from}` };
    }
  }
  if (shortest === null) {
    return {
      kind: "refused",
      code: "known-start-needed",
      reason:
        "The rule counts from the last test, and there was none; give the known beginning of the error.",
    };
  }
  const ignored =
    dates.knownStart === undefined ? "" : "The known beginning does not count under this rule. ";
  return capped(
    shortest.months,
    capOf(assumed, testDueDate, testDate),
    testDate,
    `${ignored}${shortest.basis}`,
  );
}

/** The cap, lengthened by the months overdue where the rule says so; null for none. */
function capOf(assumed: AssumedPeriod, testDueDate: string | null, testDate: string): Fraction | null {
  if (assumed.capMonths === null) return null;
  const cap = Fraction.of(BigInt(assumed.capMonths));
  const isOverdue = testDueDate !== null && daysBetween(testDueDate, testDate) > 0;
  return assumed.addMonthsOverdue && isOverdue ? cap.plus(monthsBetween(testDueDate, testDate)) : cap;
}

function capped(months: Fraction, cap: Fraction | null, end: string, basis: string): PeriodResult {
  const isCapped = cap !== null && months.isGreaterThan(cap);
  const taken = isCapped ? cap : months;
  const words = `${basis}: ${months.toText(6)} months`;
  return {
    kind: "period",
    period: {
      start: monthsBefore(end, taken),
      end,
      months: taken,
      basis: isCapped ? `${words}, limited to ${cap.toText(6)} months.` : `${words}.`,
    },
  };
}

function outOfOrder(reason: string): PeriodResult {
  return { kind: "refused", code: "dates-out-of-order", reason };
}

function capital(words: string): string {
  return words.charAt(0).toUpperCase() + words.slice(1);
}
