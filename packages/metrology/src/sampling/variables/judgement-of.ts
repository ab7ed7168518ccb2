/** One criterion of a decision, with both sides of its comparison. */
export interface Criterion {
  /** What is compared, as it reads on a decision sheet. */
  text: string;
  value: number;
  bound: number;
  holds: boolean;
}

export interface VariablesJudgement {
  outcome: "accepted" | "not-accepted";
  criteria: Criterion[];
  sentence: string;
}

/**
 * Draws the outcome out of a decision's criteria: all must hold.
 *
 * @param criteria the comparisons of the decision, at least one
 * @returns the outcome with its comparisons and a sentence
 */
export function judgementOf(criteria: Criterion[]): VariablesJudgement {
  const failed = criteria.filter(({ holds }) => !holds);
  const accepted = failed.length === 0;
  return {
    outcome: accepted ? "accepted" : "not-accepted",
    criteria,
    sentence: accepted
      ? "Accepted: every criterion holds."
      : `Not accepted: ${failed.map(({ text, value, bound }) => `${text} ${value} against ${bound}`).join("; ")}.`,
  };
}
