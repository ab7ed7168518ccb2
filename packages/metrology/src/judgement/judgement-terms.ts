import type { DecimalString, DecisionRule, RegistrationLimits } from "../accuracy/test-terms.ts";

/**
 * The words of a verdict.
 *
 * - pass, fail: decided by the rule.
 * - undecided: the rule cannot decide yet, because something that it needs is not there.
 * - not-judged: nothing asks for a judgement, because there are no limits for this occasion.
 */
export type Verdict = "pass" | "fail" | "undecided" | "not-judged";

/** What the verdict leans on: the limit, where it comes from, how far away it is, and the rule. */
export interface Judgement {
  verdict: Verdict;
  limits: RegistrationLimits | null;
  /** Limits drawn in by the guard band, when the rule has one; the value passes on or within them. */
  acceptanceLimits: { minPercent: DecimalString; maxPercent: DecimalString } | null;
  /** Distance to the nearest limit (not the guard band) in percent; negative outside it, "0" on it. */
  marginPercent: DecimalString | null;
  /** Probability that the true value is outside the limits, when the uncertainty is known and the rule asks. */
  falseAcceptProbability: DecimalString | null;
  rule: DecisionRule;
  /** A sentence or two for the person. */
  reason: string;
}
