import type { ImportState } from "@sealbook/contract/imports";
import type { StatusTone } from "../../ui/status-mark.tsx";

export const importStateTones: Record<ImportState, StatusTone> = {
  uploaded: "neutral",
  checking: "neutral",
  checked: "good",
  running: "neutral",
  done: "good",
  cancelled: "warn",
  failed: "bad",
};

/** Whether a step of the import goes on by itself, so that its progress is to be followed. */
export function isUnderWay(state: ImportState): boolean {
  return state === "checking" || state === "running";
}
