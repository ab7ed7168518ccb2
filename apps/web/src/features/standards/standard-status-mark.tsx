import { type Standard, standardStatusNames } from "@sealbook/contract/standards";
import { StatusMark, type StatusTone } from "../../ui/status-mark.tsx";

const tones: Record<Standard["status"], StatusTone> = {
  valid: "good",
  "due-soon": "warn",
  overdue: "bad",
  "never-calibrated": "bad",
  withdrawn: "neutral",
};

/** Whether a standard may be leaned on today. */
export function StandardStatusMark({ status }: { status: Standard["status"] }) {
  return <StatusMark tone={tones[status]}>{standardStatusNames[status]}</StatusMark>;
}
