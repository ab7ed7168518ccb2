import {
  type EvaluationOutcome,
  evaluationOutcomeNames,
} from "@sealbook/metrology/sampling/decision/lot-evaluation-schema";
import { StatusMark, type StatusTone } from "../../ui/status-mark.tsx";

const tones: Record<EvaluationOutcome, StatusTone> = {
  open: "neutral",
  accepted: "good",
  "accepted-return-to-normal": "warn",
  "not-accepted": "bad",
  "person-decides": "warn",
};

/** What became of a lot, or what its results say so far. */
export function OutcomeMark({ outcome }: { outcome: EvaluationOutcome }) {
  return <StatusMark tone={tones[outcome]}>{evaluationOutcomeNames[outcome]}</StatusMark>;
}
