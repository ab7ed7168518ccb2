import type { PassEvaluation } from "@sealbook/metrology/accuracy/pass-evaluation";
import { PassMark } from "./pass-mark.tsx";

/** The verdict of a pass as it is typed, read out when it changes. */
export function PassVerdict({ evaluation }: { evaluation: PassEvaluation | null }) {
  return (
    <strong aria-live="polite">
      {evaluation === null ? "Choose a reason for the test first" : <PassMark verdict={evaluation.verdict} />}
    </strong>
  );
}
