import type { MeterTest } from "./meter-tests.ts";
import type { TestPlanBody } from "./test-plans.ts";

/** What a test on record answered beside its points. */
export type AnsweredByTest = Pick<MeterTest, "outcome" | "preconditionsConfirmed" | "conditions">;

type Asks = Pick<TestPlanBody, "preconditions" | "conditions" | "creep">;

/**
 * What a plan asks of a test beside its points. Of an amendment only what the amended test answered is asked: a
 * bench's file says nothing of preconditions or creep, and whoever mends a figure of it cannot know them afterwards.
 *
 * @param amended  the test on record that is amended; null for a new one
 */
export function askedOfTest(plan: Asks, amended: AnsweredByTest | null): Asks {
  // Where no test was possible nothing was asked, so that a test entered in its place is asked everything.
  if (amended === null || amended.outcome.kind !== "tested") return plan;
  const { outcome, preconditionsConfirmed, conditions } = amended;
  const given = {
    volts: conditions.volts,
    amperes: conditions.amperes,
    temperature: conditions.temperatureCelsius,
  };
  return {
    preconditions: preconditionsConfirmed.length === 0 ? [] : plan.preconditions,
    conditions: plan.conditions.filter((condition) => given[condition] !== null),
    creep: outcome.asFound.creep === "not-checked" ? "not-asked" : plan.creep,
  };
}
