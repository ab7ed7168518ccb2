import { type Programme, programmeStateNames } from "@sealbook/contract/groups";
import { StatusMark, type StatusTone } from "../../ui/status-mark.tsx";

const tones: Record<Programme["state"], StatusTone> = {
  forming: "neutral",
  formed: "warn",
  drawing: "neutral",
  drawn: "good",
  failed: "bad",
  cancelled: "neutral",
};

/** Where a programme stands. */
export function ProgrammeStateMark({ state }: { state: Programme["state"] }) {
  return <StatusMark tone={tones[state]}>{programmeStateNames[state]}</StatusMark>;
}
