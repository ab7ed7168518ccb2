import { type Verdict, verdictNames } from "@sealbook/contract/meters";
import { StatusMark, type StatusTone } from "../ui/status-mark.tsx";

const tones: Record<Verdict, StatusTone> = {
  pass: "good",
  fail: "bad",
  incomplete: "warn",
  "no-test-possible": "warn",
  withdrawn: "neutral",
};

/** A verdict as lists and pages show it. */
export function VerdictMark({ verdict }: { verdict: Verdict }) {
  return <StatusMark tone={tones[verdict]}>{verdictNames[verdict]}</StatusMark>;
}
