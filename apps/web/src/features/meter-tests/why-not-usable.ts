import type { TestPreparation } from "@sealbook/contract/meter-tests";

type StandardOffered = Pick<
  TestPreparation["standards"][number],
  "withdrawn" | "rank" | "status" | "dueOn" | "calibration"
>;

/**
 * Why a standard may not be used for a test on a day; null when it may. The service decides again when it records.
 *
 * @param rankAsked  which rank the plan accepts
 * @param onDate     local date of the test, "2026-03-02"
 */
export function whyNotUsable(
  standard: StandardOffered,
  rankAsked: "any" | "reference",
  onDate: string,
): string | null {
  if (standard.withdrawn) return "withdrawn";
  if (standard.dueOn === null) return "never calibrated";
  if (standard.dueOn < onDate) return `overdue since ${standard.dueOn}`;
  if (rankAsked === "reference" && standard.rank !== "reference")
    return "the plan asks for a reference standard";
  return null;
}
