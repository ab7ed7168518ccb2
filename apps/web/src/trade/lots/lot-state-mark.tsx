import { type LotState, lotStateNames } from "@sealbook/contract/lot-terms";
import { StatusMark, type StatusTone } from "../../ui/status-mark.tsx";

const tones: Record<LotState, StatusTone> = {
  forming: "neutral",
  planned: "neutral",
  listed: "neutral",
  drawn: "warn",
  decided: "warn",
  approved: "good",
  closed: "good",
  withdrawn: "neutral",
};

/** Where a lot stands: what waits for somebody is marked as waiting. */
export function LotStateMark({ state }: { state: LotState }) {
  return <StatusMark tone={tones[state]}>{lotStateNames[state]}</StatusMark>;
}
