import { type UnitState, unitStateNames } from "@sealbook/contract/follow-up";
import { StatusMark, type StatusTone } from "../../ui/status-mark.tsx";

const tones: Record<UnitState, StatusTone> = {
  waiting: "neutral",
  asked: "neutral",
  pulled: "neutral",
  received: "neutral",
  tested: "good",
  "no-test-possible": "warn",
  replaced: "warn",
  "left-out": "warn",
  spare: "neutral",
};

/** Where a drawn meter stands. */
export function UnitStateMark({ state }: { state: UnitState }) {
  return <StatusMark tone={tones[state]}>{unitStateNames[state]}</StatusMark>;
}
