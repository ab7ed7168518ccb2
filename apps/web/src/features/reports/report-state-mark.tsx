import { type ReportState, reportStateNames } from "@sealbook/contract/reports";
import { StatusMark, type StatusTone } from "../../ui/status-mark.tsx";

const tones: Record<ReportState, StatusTone> = {
  draft: "neutral",
  reviewed: "warn",
  signed: "warn",
  released: "good",
  withdrawn: "neutral",
};

export function ReportStateMark({ state }: { state: ReportState }) {
  return <StatusMark tone={tones[state]}>{reportStateNames[state]}</StatusMark>;
}
