import type { PassEvaluation } from "@sealbook/metrology/accuracy/pass-evaluation";

/** What a verdict stands on, or what keeps it open: a sentence each. */
export function PassGrounds({ evaluation }: { evaluation: PassEvaluation }) {
  return (
    <ul className="small">
      {evaluation.reasons.map((reason) => (
        <li key={`${reason.about} ${reason.pointKey ?? ""} ${reason.reason}`}>{reason.reason}</li>
      ))}
    </ul>
  );
}
