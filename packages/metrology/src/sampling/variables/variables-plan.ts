import type { InspectionSeverity } from "../sampling-terms.ts";

/** What is asked of a variables standard: standard deviation method, variability unknown. */
export interface VariablesPlanRequest {
  /** Units in the lot, whole. */
  lotSize: number;
  /** Inspection level of the standard: Z1.9 has S-3, S-4, I, II, III; MIL-STD-414 has I to V. */
  level: string;
  /** Percent nonconforming. */
  aql: number;
  inspection: InspectionSeverity;
}

/** A plan by variables: standard deviation method, variability unknown. */
export interface VariablesPlan {
  kind: "plan";
  standard: "ANSI/ASQ Z1.9" | "MIL-STD-414";
  /** Code letter of Table A-2. */
  letter: string;
  /** Units to measure: the plan's sample size, or the whole lot when the plan asks for as much or more. */
  n: number;
  /** Form 2: largest estimated percent nonconforming that accepts the lot, in percent. */
  maximumPercent: number;
  /** Form 1: least quality index that accepts the lot; null where the standard's printed k is not carried. */
  k: number | null;
  tableSampleSize: number;
  allInspected: boolean;
  notes: string[];
}
