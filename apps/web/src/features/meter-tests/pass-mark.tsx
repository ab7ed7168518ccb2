import type { PassEvaluation } from "@sealbook/metrology/accuracy/pass-evaluation";
import { StatusMark, type StatusTone } from "../../ui/status-mark.tsx";

const marks: Record<PassEvaluation["verdict"], { tone: StatusTone; word: string }> = {
  pass: { tone: "good", word: "Within limits" },
  fail: { tone: "bad", word: "Outside limits" },
  incomplete: { tone: "warn", word: "Incomplete" },
};

/** Verdict of a whole pass. */
export function PassMark({ verdict }: { verdict: PassEvaluation["verdict"] }) {
  return <StatusMark tone={marks[verdict].tone}>{marks[verdict].word}</StatusMark>;
}
