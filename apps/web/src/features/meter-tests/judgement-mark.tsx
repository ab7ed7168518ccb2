import type { Verdict } from "@sealbook/metrology/judgement/judgement-terms";
import { StatusMark, type StatusTone } from "../../ui/status-mark.tsx";

const marks: Record<Verdict, { tone: StatusTone; word: string }> = {
  pass: { tone: "good", word: "Within limits" },
  fail: { tone: "bad", word: "Outside limits" },
  undecided: { tone: "neutral", word: "Open" },
  "not-judged": { tone: "neutral", word: "Not judged" },
};

/** Verdict of one point, the average or creep. */
export function JudgementMark({ verdict }: { verdict: Verdict }) {
  return <StatusMark tone={marks[verdict].tone}>{marks[verdict].word}</StatusMark>;
}
