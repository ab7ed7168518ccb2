import type { PassEvaluation } from "@sealbook/metrology/accuracy/pass-evaluation";
import { StatusMark } from "../../ui/status-mark.tsx";

/** What a verdict stands on, or what keeps it open: a sentence each. What is wrong in a field stands at the field. */
export function PassGrounds({ evaluation }: { evaluation: PassEvaluation }) {
  return (
    <ul className="small pass-grounds">
      {evaluation.reasons.filter(isNotAtField).map((reason) => (
        <li
          key={`${reason.about} ${reason.pointKey ?? ""} ${reason.reason}`}
          className={reason.verdict === "fail" ? "marked-ground" : undefined}
        >
          {reason.verdict === "fail" ? (
            <StatusMark tone="bad">{sentenceOf(reason.reason)}</StatusMark>
          ) : (
            sentenceOf(reason.reason)
          )}
        </li>
      ))}
    </ul>
  );
}

function isNotAtField({ about, pointKey }: PassEvaluation["reasons"][number]): boolean {
  return about !== "entry" || pointKey === null;
}

/** The ground without the name before it, where the sentence begins with the same name. */
function sentenceOf(ground: string): string {
  return ground.replace(/^(?:Average, )?(.+): (?=\1 )/, "");
}
