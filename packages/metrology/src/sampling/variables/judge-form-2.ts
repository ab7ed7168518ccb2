import type { PercentEstimate } from "../evaluation/estimate-percent-nonconforming.ts";
import { type Criterion, judgementOf, type VariablesJudgement } from "./judgement-of.ts";

/**
 * Judges a lot by Form 2: the estimated percent nonconforming against M. Equality accepts; nothing is rounded first.
 *
 * @param estimate the estimate from the sample
 * @param maximum one M in percent for the limits together; or one for each limit, where each has its own AQL. Then
 *   each limit is judged against its own, and both together against the larger
 * @returns the outcome with every comparison
 * @throws RangeError if an M is not between 0 and 100
 * @source MIL-STD-414 (1957), B-8 and B-9, examples B-2 to B-4; ANSI/ASQ Z1.9, Section B, Part III
 * @example judgeForm2(estimate, 3.32).outcome // "accepted" for example B-3
 */
export function judgeForm2(
  estimate: PercentEstimate,
  maximum: number | { lower: number; upper: number },
): VariablesJudgement {
  const bounds = typeof maximum === "number" ? [maximum] : [maximum.lower, maximum.upper];
  if (bounds.some((bound) => !(bound >= 0 && bound <= 100)))
    throw new RangeError("M must lie between 0 and 100");
  const criteria: Criterion[] =
    typeof maximum === "number"
      ? [atMost("estimated percent nonconforming", estimate.p, maximum)]
      : [
          atMost("estimated percent above the upper limit", estimate.pUpper, maximum.upper),
          atMost("estimated percent below the lower limit", estimate.pLower, maximum.lower),
          atMost("estimated percent nonconforming", estimate.p, Math.max(maximum.lower, maximum.upper)),
        ];
  return judgementOf(criteria);
}

function atMost(text: string, value: number, bound: number): Criterion {
  return { text, value, bound, holds: value <= bound };
}
