import type { Judgement, Verdict } from "../judgement/judgement-terms.ts";
import type { AverageRole } from "./average-registration.ts";
import type {
  AskedOfPass,
  AverageRule,
  CertifiedPoint,
  DecimalString,
  DecisionRule,
  DemandBasis,
  DemandLimits,
  DemandReading,
  MeterConstants,
  Occasion,
  PassEntry,
  PlanPoint,
  RegistrationLimits,
  StandardInUse,
} from "./test-terms.ts";

/** All that the evaluation of one pass needs. Entries may be partial: a pass is judged while it is typed. */
export interface EvaluatePassInput {
  meter: MeterConstants;
  /** Points of the plan, each with its own key. */
  points: PlanPoint[];
  /** How the average is made; null when the profile asks for none. */
  average: AverageRule | null;
  /** Limits of the average on this occasion; null when it is computed but not judged. */
  averageLimits: RegistrationLimits | null;
  decisionRule: DecisionRule;
  occasion: Occasion;
  /** False: a meter that creeps fails. */
  creepAllowed: boolean;
  /** What the plan asks beside its points; without it nothing more is asked, and creep may stay unchecked. */
  asked?: AskedOfPass;
  /** The standard that the pass leans on; null while none is chosen. */
  standard: StandardInUse | null;
  /** Test voltage, V. */
  volts: DecimalString;
  /** Test amperes TA of the meter, A. */
  testAmperes: DecimalString;
  entry: PassEntry;
}

/** How a figure came about: the formula with its symbols, what went in, what came out, where the formula is from. */
export interface FormulaTrace {
  formula: string;
  inputs: { symbol: string; label: string; value: DecimalString; unit: string }[];
  result: { symbol: string; label: string; value: DecimalString; unit: string };
  source: string;
}

/**
 * A field that cannot be taken as it stands. Exactly one place: a run's field, a demand reading's field, a meter
 * constant, or a test condition.
 */
export interface EntryRefusal {
  /** Null when the field belongs to the meter or to the whole test. */
  pointKey: string | null;
  /** Null when the field belongs to no run. */
  runIndex: number | null;
  /** Place of the demand reading that the field belongs to; absent when it belongs to none. */
  demandIndex?: number | undefined;
  /** Name of the field: "counts", "standardEnergy", "kt", "circuits", "volts", ... */
  field: string;
  /** What stood there. */
  text: string;
  /** A sentence for the person. */
  reason: string;
}

export type RunEvaluation =
  | {
      state: "evaluated";
      /** Against what the standard indicated, before its certified error is applied. */
      uncorrectedPercent: DecimalString;
      /** After it; the same when nothing is applied. This is what is judged. */
      registrationPercent: DecimalString;
      errorPercent: DecimalString;
      howComputed: FormulaTrace[];
    }
  | { state: "not-entered" }
  | { state: "incomplete"; missingFields: string[] }
  | { state: "refused" };

/** What was done about the standard's own certified error. */
export type StandardCorrection =
  | {
      kind: "applied";
      standardRegistrationPercent: DecimalString;
      /** The certified points it was interpolated between; the same twice when the load stands on one. */
      between: readonly [CertifiedPoint, CertifiedPoint];
      reason: string;
    }
  | { kind: "already-applied-by-bench"; reason: string }
  /** Taken without correction, with added uncertainty: the load is outside the certified amperes. */
  | { kind: "uncorrected-outside-range"; reason: string }
  /** Taken without correction, with added uncertainty: no certified point has this voltage, power factor, quantity. */
  | { kind: "no-certified-points"; reason: string }
  /** Not taken: the profile refuses it, or the load of the standard is not known yet. */
  | { kind: "refused"; reason: string }
  | { kind: "no-standard"; reason: string };

export interface PointEvaluation extends Judgement {
  pointKey: string;
  label: string;
  /** "missing": no run at all; "partial": fewer runs than asked, or one half typed; "refused": something cannot be taken. */
  state: "missing" | "partial" | "refused" | "complete";
  runs: RunEvaluation[];
  runsAsked: number;
  runsEvaluated: number;
  /** Mean of the evaluated runs; provisional unless the point is complete. */
  meanPercent: DecimalString | null;
  errorPercent: DecimalString | null;
  /** Null for fewer than two runs. */
  sampleStandardDeviationPercent: DecimalString | null;
  rangePercent: DecimalString | null;
  correction: StandardCorrection;
  /** From the standard's certificate, at a coverage factor of 2; null when it is not known. */
  expandedUncertaintyPercent: DecimalString | null;
}

export interface AverageEvaluation extends Judgement {
  rule: DecisionRule;
  averageRule: AverageRule;
  registrationPercent: DecimalString | null;
  errorPercent: DecimalString | null;
  expandedUncertaintyPercent: DecimalString | null;
  /** Roles that the rule weighs and that are not entered in full. */
  missingRoles: AverageRole[];
  howComputed: FormulaTrace | null;
}

export interface CreepEvaluation {
  verdict: Verdict;
  reason: string;
}

export interface StartingLoadEvaluation {
  verdict: Verdict;
  reason: string;
}

/** One demand reading, its error and its verdict. */
export interface DemandEvaluation {
  reading: DemandReading;
  basis: DemandBasis;
  /** Percent of the basis, positive when the meter reads high; null while the reading is not whole. */
  errorPercent: DecimalString | null;
  /** Null where the profile gives none for this basis and occasion. */
  limits: DemandLimits | null;
  /** Distance to the limit in percent of the basis; negative beyond it; null when it is not judged. */
  marginPercent: DecimalString | null;
  rule: DecisionRule;
  verdict: Verdict;
  /** A sentence or two that name limit, source, margin and rule where there are any. */
  reason: string;
  howComputed: FormulaTrace | null;
}

/** One ground of the overall verdict. */
export interface VerdictReason {
  about: "point" | "average" | "creep" | "starting-load" | "demand" | "entry" | "plan";
  /** Key of the point, when it is about one. */
  pointKey: string | null;
  verdict: Verdict;
  /** A sentence or two that name limit, source, margin and rule where there are any. */
  reason: string;
  /** Limits in percent registration, where the ground has such limits. */
  limits: RegistrationLimits | null;
  marginPercent: DecimalString | null;
}

export interface PassEvaluation {
  points: PointEvaluation[];
  /** Keys of the plan's points that have no run yet. */
  missingPoints: string[];
  /** Null when no average is asked for. */
  average: AverageEvaluation | null;
  creep: CreepEvaluation;
  /** Null when the starting load is not asked for. */
  startingLoad: StartingLoadEvaluation | null;
  /** Every reading in the order of entry; null when demand is not asked for. */
  demand: DemandEvaluation[] | null;
  refusals: EntryRefusal[];
  /** A fail stands as soon as one judged thing fails; a pass only when everything asked for is there. */
  verdict: "pass" | "fail" | "incomplete";
  reasons: VerdictReason[];
}
