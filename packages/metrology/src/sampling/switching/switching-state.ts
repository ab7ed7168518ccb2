import type { AttributesJudgement } from "../attributes/judge-attributes.ts";
import type { InspectionSeverity } from "../sampling-terms.ts";
import type { SwitchingEditionName } from "./switching-editions.ts";

/** A lot on original inspection, as far as switching remembers it. */
export interface CountedLot {
  accepted: boolean;
  nonconforming: number;
  /** Units inspected; of a double plan, all of both samples. */
  sampleUnits: number;
}

/** Where a series of lots stands. It is plain data, so that it can be stored with a decision and compared. */
export interface SwitchingState {
  edition: SwitchingEditionName;
  /** Severity of the next lot; "discontinued": no lot is judged until corrective action has been taken. */
  severity: InspectionSeverity | "discontinued";
  /** Original inspections since this severity began, oldest first. Counting starts anew with each severity. */
  lots: readonly CountedLot[];
}

/** Something that happens to a series. */
export type SwitchingEvent =
  | {
      kind: "lot";
      /** Only original inspection counts; a resubmitted lot or a resample is on record and changes nothing. */
      inspection: "original" | "resubmitted" | "resample";
      outcome: AttributesJudgement["outcome"];
      nonconforming: number;
      sampleUnits: number;
      /** Whether production (or what stands for it) is at a steady rate. */
      steady: boolean;
      /** Whether the responsible authority finds reduced inspection desirable. */
      reducedApproved: boolean;
    }
  | { kind: "irregular"; reason: string }
  | { kind: "corrective-action"; reason: string }
  | {
      /** The responsible authority directs a severity, with the text of the standard at hand. */
      kind: "directed";
      severity: InspectionSeverity;
      reason: string;
    };

/** What one event did to a series. */
export interface SwitchingStep {
  /** Severity that was in force when it happened. */
  severityBefore: SwitchingState["severity"];
  state: SwitchingState;
  /** Why, in sentences. */
  reasons: string[];
}
