import { requireWhole } from "../require-whole.ts";

/** What the count of nonconforming units says of a lot. */
export interface AttributesJudgement {
  outcome: "accepted" | "accepted-return-to-normal" | "not-accepted";
  sentence: string;
}

/**
 * Judges a lot by the nonconforming units of its sample.
 *
 * @param nonconforming number of nonconforming units in the sample, whole, >= 0
 * @param plan acceptance and rejection number; Re > Ac + 1 only under reduced inspection
 * @returns accepted; accepted with a return to normal inspection (between Ac and Re); or not accepted
 * @throws RangeError if the count is not whole or Re is not above Ac
 * @source MIL-STD-105E, 4.10.1.1 and 4.7.4
 * @example judgeAttributes(3, { ac: 2, re: 5 }).outcome // "accepted-return-to-normal"
 */
export function judgeAttributes(
  nonconforming: number,
  plan: { ac: number; re: number },
): AttributesJudgement {
  requireWhole(nonconforming, 0, "the number of nonconforming units");
  if (plan.re <= plan.ac) throw new RangeError("the rejection number must lie above the acceptance number");
  if (nonconforming <= plan.ac) {
    return { outcome: "accepted", sentence: `${nonconforming} nonconforming, at most ${plan.ac}: accepted.` };
  }
  if (nonconforming >= plan.re) {
    return {
      outcome: "not-accepted",
      sentence: `${nonconforming} nonconforming, ${plan.re} or more: not accepted.`,
    };
  }
  return {
    outcome: "accepted-return-to-normal",
    sentence: `${nonconforming} nonconforming, above ${plan.ac} and below ${plan.re}: accepted, and the next lot is under normal inspection.`,
  };
}
