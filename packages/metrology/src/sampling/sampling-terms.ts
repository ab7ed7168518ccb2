/**
 * The words of acceptance sampling, as the whole of this room uses them.
 *
 * Terminology
 * - lot: the meters judged together, a shipment or a group in service; N is its size.
 * - sample: the n meters drawn from the lot. A sampling plan says n and when the lot is accepted.
 * - AQL: acceptable quality level, the worst percent nonconforming that is still satisfactory as a process average.
 * - level: how much inspection for a lot size; with the lot size it gives the code letter, the row of the tables.
 * - severity: normal, tightened or reduced inspection; switching rules move a series of lots between them.
 * - Ac, Re: acceptance and rejection number. d <= Ac accepts, d >= Re does not; under reduced inspection a gap may lie
 *   between: the lot is accepted and normal inspection returns.
 * - k: Form 1 accepts when the quality index Q = (limit - mean) / s, taken towards the inside, is at least k.
 * - M: Form 2 accepts when the estimated percent nonconforming is at most M percent.
 * - original inspection: the first time a lot is judged. A lot that was screened and resubmitted is not original, and
 *   switching takes no notice of it.
 */

/** Which of the three plans of a scheme applies. */
export type InspectionSeverity = "normal" | "tightened" | "reduced";

export const inspectionSeverities = ["normal", "tightened", "reduced"] as const;

/** Why there is no plan for what was asked, in a word for programs and a sentence for people. */
export interface PlanRefusal {
  kind: "refused";
  reason:
    | "lot-too-small"
    | "level-not-in-standard"
    | "aql-not-in-table"
    | "severity-not-available"
    | "form-needs-one-limit";
  sentence: string;
}
