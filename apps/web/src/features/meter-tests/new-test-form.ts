import type { TestPreparation } from "@sealbook/contract/meter-tests";
import { formatInstant } from "../../ui/local-time.ts";
import type { Habits } from "./habits.ts";
import { passForm } from "./pass-form.ts";
import type { TestForm } from "./test-form.ts";
import { whyNotUsable } from "./why-not-usable.ts";

/**
 * The form as it opens for a meter: open work is ticked as the reasons, counts stand as the plan has them, the
 * standard and the way of entry are those of this device's last test. What decides the result is never filled in.
 *
 * @param habits  what the last test on this device used
 * @param now     ISO instant; stands as the time of the test until it is changed
 * @param today   local date of the shop
 */
export function newTestForm(
  preparation: Pick<TestPreparation, "plan" | "standards" | "openWork">,
  habits: Habits,
  { id, now, timeZone, today }: { id: string; now: string; timeZone: string; today: string },
): TestForm {
  const { plan, standards, openWork } = preparation;
  const standard = standards.find(({ id: standardId }) => standardId === habits.standardId);
  const isUsable = standard !== undefined && whyNotUsable(standard, plan.body.standardRank, today) === null;
  const workItemIds = openWork.map((item) => item.id);
  const creep = plan.body.creep === "asked" ? "" : "not-checked";
  const text = formatInstant(now, timeZone);
  return {
    id,
    reasons: openWork.length === 0 ? habits.reasons : [],
    workItemIds,
    performedAt: text,
    openedAt: { text, instant: now },
    standardId: isUsable ? standard.id : "",
    errorAppliedByBench: isUsable ? (habits.errorAppliedByBench[standard.id] ?? "") : "",
    preconditionsConfirmed: [],
    outcome: "tested",
    asFound: passForm(plan.body.points, habits.entryKind, creep),
    asLeft: "",
    asLeftPass: passForm(plan.body.points, habits.entryKind, creep),
    adjustment: "",
    whyNotTested: "",
    untestableReason: "",
    untestableNote: "",
    volts: "",
    amperes: "",
    temperatureCelsius: "",
    readingBefore: "",
    readingAfter: "",
    sealsRemoved: [],
    sealsApplied: [],
    remarks: "",
    files: [],
  };
}
