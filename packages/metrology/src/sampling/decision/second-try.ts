import { daysBetween, type LocalDate } from "../../calendar/local-date.ts";
import { wholeMonthsAfter } from "../../calendar/whole-months-after.ts";
import type { InspectionSeverity } from "../sampling-terms.ts";
import type { SamplingScheme } from "./sampling-scheme.ts";

/** A decided lot, as far as a second try asks. */
export interface FirstTry {
  outcome: "accepted" | "accepted-return-to-normal" | "not-accepted";
  /** Day on which it was decided. */
  decidedOn: LocalDate;
  /** Inspection that it was planned under, of each characteristic. */
  severities: readonly InspectionSeverity[];
  /** Whether it is a second try itself. */
  isSecondTry: boolean;
}

/** A second try under the tightened plan, as a plan table grants it. */
export interface SecondTry {
  /** Last day on which it may be asked for. */
  until: LocalDate;
  /** When it may be asked for, in the table's words. */
  condition: string;
  source: string;
  /** Why it may not be asked for today, a sentence; null where it may. */
  refusal: string | null;
}

/**
 * The second try that a scheme's plan table grants after a lot was not accepted: within some months of the day on which
 * it was decided, only after a first try under normal inspection, and once.
 *
 * @param scheme the scheme of the lot
 * @param first the decided lot
 * @param today the shop's date
 * @returns the second try; null where the plan knows of none, or the lot was accepted
 * @throws RangeError if a date is none
 * @source the table's own
 * @example secondTry(franceScheme, { outcome: "not-accepted", decidedOn: "2026-11-30", ... }, "2026-12-01") // until 2027-02-28
 */
export function secondTry(
  scheme: Pick<SamplingScheme, "plan">,
  first: FirstTry,
  today: LocalDate,
): SecondTry | null {
  if (scheme.plan.kind !== "plan-table" || first.outcome !== "not-accepted") return null;
  const { secondTry: granted, source } = scheme.plan.table;
  if (granted === undefined) return null;
  const until = wholeMonthsAfter(first.decidedOn, granted.withinMonths);
  const months = granted.withinMonths === 1 ? "1 month" : `${granted.withinMonths} months`;
  const refusal = first.isSecondTry
    ? "This was the second try: there is no third."
    : first.severities.some((severity) => severity !== "normal")
      ? "It was not accepted under tightened inspection already: a second try follows normal inspection only."
      : daysBetween(today, until) < 0
        ? `It could be asked for until ${until}, ${months} after the lot was decided.`
        : null;
  return { until, condition: granted.condition, source, refusal };
}
