import type { PassEvaluation } from "@sealbook/metrology/accuracy/pass-evaluation";

/** What a verdict stands on, or what keeps it open: a sentence each. What is wrong in a field stands at the field. */
export function PassGrounds({ evaluation }: { evaluation: PassEvaluation }) {
  return (
    <ul className="small">
      {evaluation.reasons.filter(isNotAtField).map((reason) => (
        <li key={`${reason.about} ${reason.pointKey ?? ""} ${reason.reason}`}>{reason.reason}</li>
      ))}
    </ul>
  );
}

function isNotAtField({ about, pointKey }: PassEvaluation["reasons"][number]): boolean {
  return about !== "entry" || pointKey === null;
}
