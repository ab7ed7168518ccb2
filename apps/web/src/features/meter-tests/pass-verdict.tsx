import type { PassEvaluation } from "@sealbook/metrology/accuracy/pass-evaluation";
import { PassMark } from "./pass-mark.tsx";

/** The verdict of a pass with its grounds, read out as it changes. */
export function PassVerdict({
  evaluation,
  isLive = false,
}: {
  evaluation: PassEvaluation | null;
  isLive?: boolean;
}) {
  return (
    <div className="pass-verdict" aria-live={isLive ? "polite" : undefined}>
      {evaluation === null ? (
        <p>Choose a reason for the test first: the limits depend on it.</p>
      ) : (
        <>
          <strong>
            <PassMark verdict={evaluation.verdict} />
          </strong>
          {evaluation.verdict === "pass" ? null : (
            <ul className="small">
              {evaluation.reasons.map((reason) => (
                <li key={`${reason.about} ${reason.pointKey ?? ""} ${reason.reason}`}>{reason.reason}</li>
              ))}
            </ul>
          )}
        </>
      )}
    </div>
  );
}
