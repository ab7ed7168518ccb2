import type { EvaluationOutcome } from "./lot-evaluation-schema.ts";

/** The first of these that a characteristic has is the lot's. */
const rank: readonly EvaluationOutcome[] = [
  "open",
  "not-accepted",
  "person-decides",
  "accepted-return-to-normal",
  "accepted",
];

/**
 * Outcome of a lot from those of its characteristics: open while one is open; not accepted when one is not; left to a
 * person when one is; accepted only when all are.
 *
 * @param outcomes at least one
 * @returns the lot's outcome
 * @throws RangeError if there is no outcome
 * @source MIL-STD-105E, 4.4.2: each class of nonconformities has its own AQL, and the lot must satisfy all of them
 */
export function outcomeOfAll(outcomes: readonly EvaluationOutcome[]): EvaluationOutcome {
  const found = rank.find((outcome) => outcomes.includes(outcome));
  if (found === undefined) throw new RangeError("a lot has at least one characteristic");
  return found;
}
