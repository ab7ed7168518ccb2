import type { ProfileStanding } from "@sealbook/contract/profiles";
import { StatusMark, type StatusTone } from "../../ui/status-mark.tsx";

const names: Record<ProfileStanding, string> = {
  proposed: "Proposed",
  "in-force": "In force",
  waiting: "Approved for later",
  superseded: "Superseded",
  declined: "Declined",
};
const tones: Record<ProfileStanding, StatusTone> = {
  proposed: "warn",
  "in-force": "good",
  waiting: "neutral",
  superseded: "neutral",
  declined: "bad",
};

/** Where a version of a rule profile stands. */
export function ProfileStandingMark({ standing }: { standing: ProfileStanding }) {
  return <StatusMark tone={tones[standing]}>{names[standing]}</StatusMark>;
}
