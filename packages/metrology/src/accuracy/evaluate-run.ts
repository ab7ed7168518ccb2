import type { Fraction } from "../fraction.ts";
import {
  counts,
  type Energy,
  type EnergyPerCount,
  energy,
  energyPerCount,
  type Factor,
  type PercentRegistration,
  percentRegistration,
} from "../units.ts";
import { correctForStandard } from "./correct-for-standard.ts";
import type { StandardToApply } from "./correction-at-point.ts";
import type { EntryRefusal, FormulaTrace, RunEvaluation } from "./pass-evaluation.ts";
import { percentErrorOf } from "./percent-error-of.ts";
import { type FieldsRead, readFields } from "./read-fields.ts";
import { registrationFromCounts } from "./registration-from-counts.ts";
import { standardEnergyFromRevolutions } from "./standard-energy-from-revolutions.ts";
import type { PlanPoint, Quantity, RunEntry } from "./test-terms.ts";

/** What a count of the meter stands for at this point, with the source of the circuit factor. */
export interface PointConstants {
  whPerCount: EnergyPerCount<Quantity>;
  circuitFactor: Factor;
  circuitFactorSource: string;
}

export interface RunResult {
  evaluation: RunEvaluation;
  /** The exact registration to judge; null unless the run is evaluated. */
  registration: PercentRegistration | null;
  refusals: EntryRefusal[];
}

/**
 * Registration of one run as entered, corrected for the standard's error where there is one to apply. A meter that
 * stands still while energy passes registers 0 %: that is a figure, and it is judged.
 *
 * @param run                   the entry; empty fields are not entered yet
 * @param point                 the plan's point
 * @param runIndex              place of the run at its point, from 0
 * @param constants             what one count stands for; null when it is not known, which a run of counts needs
 * @param standard              certified registration of the standard to apply; null to apply none
 * @returns figures with their formulas, or what is missing, or what is refused
 * @source registrationFromCounts, standardEnergyFromRevolutions, correctForStandard
 */
export function evaluateRun(
  run: RunEntry,
  point: PlanPoint,
  runIndex: number,
  constants: PointConstants | null,
  standard: StandardToApply | null,
): RunResult {
  const read = readRun(run, point, constants);
  if (read.kind === "refused") {
    const refusals = read.refused.map((refusal) => ({ pointKey: point.key, runIndex, ...refusal }));
    return { evaluation: { state: "refused" }, registration: null, refusals };
  }
  if (read.kind === "incomplete") {
    const evaluation: RunEvaluation = read.all
      ? { state: "not-entered" }
      : { state: "incomplete", missingFields: read.missing };
    return { evaluation, registration: null, refusals: [] };
  }
  if (read.kind === "constants-unknown") {
    return { evaluation: { state: "refused" }, registration: null, refusals: [] };
  }
  const howComputed = [...read.howComputed];
  let registration = read.registration;
  if (standard !== null) {
    registration = correctForStandard(read.registration, standard.registration);
    howComputed.push(
      ...standard.howComputed,
      correctionTrace(read.registration, standard.registration, registration),
    );
  }
  return {
    evaluation: {
      state: "evaluated",
      uncorrectedPercent: read.registration.toText(),
      registrationPercent: registration.toText(),
      errorPercent: percentErrorOf(registration).toText(),
      howComputed,
    },
    registration,
    refusals: [],
  };
}

type RunRead =
  | Exclude<FieldsRead<string>, { kind: "read" }>
  /** The fields are fine, but what a count stands for is refused or asked elsewhere. */
  | { kind: "constants-unknown" }
  | { kind: "indicated"; registration: PercentRegistration; howComputed: FormulaTrace[] };

function readRun(run: RunEntry, point: PlanPoint, constants: PointConstants | null): RunRead {
  if (run.kind === "registration") {
    const read = readFields({ registrationPercent: run.registrationPercent }, ["registrationPercent"]);
    return read.kind === "read"
      ? {
          kind: "indicated",
          registration: percentRegistration(read.values.registrationPercent),
          howComputed: [],
        }
      : read;
  }
  if (run.kind === "counts") {
    const read = readFields({ counts: run.counts, standardEnergy: run.standardEnergy }, ["counts"]);
    return read.kind === "read"
      ? registrationOf(
          read.values.counts,
          energy(read.values.standardEnergy, point.quantity),
          point,
          constants,
          [],
        )
      : read;
  }
  const read = readFields(
    {
      counts: run.counts,
      standardRevolutions: run.standardRevolutions,
      standardConstant: run.standardConstant,
    },
    ["counts"],
  );
  if (read.kind !== "read") {
    return read;
  }
  const revolutions = counts(read.values.standardRevolutions);
  const constant = energyPerCount(read.values.standardConstant, point.quantity);
  const passed = standardEnergyFromRevolutions(revolutions, constant);
  const trace = revolutionsTrace(revolutions, constant, passed, point);
  return registrationOf(read.values.counts, passed, point, constants, [trace]);
}

function registrationOf(
  meterCounts: Fraction,
  standardEnergy: Energy<Quantity>,
  point: PlanPoint,
  constants: PointConstants | null,
  before: FormulaTrace[],
): RunRead {
  if (constants === null) {
    return { kind: "constants-unknown" };
  }
  const registration = registrationFromCounts({
    counts: counts(meterCounts),
    whPerCount: constants.whPerCount,
    circuitFactor: constants.circuitFactor,
    standardEnergy,
  });
  const trace: FormulaTrace = {
    formula: "R = 100 n K / (m W)",
    inputs: [
      { symbol: "n", label: "Counts of the meter", value: meterCounts.toText(), unit: "counts" },
      {
        symbol: "K",
        label: `${point.countConstant} of the meter`,
        value: constants.whPerCount.toText(),
        unit: `${point.quantity} per count`,
      },
      {
        symbol: "m",
        label: "How often the meter sees the standard's energy",
        value: constants.circuitFactor.toText(),
        unit: "",
      },
      { symbol: "W", label: "Energy of the standard", value: standardEnergy.toText(), unit: point.quantity },
    ],
    result: { symbol: "R", label: "Registration", value: registration.toText(), unit: "%" },
    source: `Definition of percent registration; m: ${constants.circuitFactorSource}`,
  };
  return { kind: "indicated", registration, howComputed: [...before, trace] };
}

function revolutionsTrace(
  revolutions: Fraction,
  constant: Fraction,
  passed: Fraction,
  point: PlanPoint,
): FormulaTrace {
  return {
    formula: "W = r Ks",
    inputs: [
      { symbol: "r", label: "Revolutions of the standard", value: revolutions.toText(), unit: "revolutions" },
      {
        symbol: "Ks",
        label: "Constant of the standard",
        value: constant.toText(),
        unit: `${point.quantity} per revolution`,
      },
    ],
    result: { symbol: "W", label: "Energy of the standard", value: passed.toText(), unit: point.quantity },
    source: "Definition of a watthour constant",
  };
}

function correctionTrace(
  indicated: PercentRegistration,
  standard: PercentRegistration,
  corrected: PercentRegistration,
): FormulaTrace {
  return {
    formula: "R_corrected = R R_s / 100",
    inputs: [
      {
        symbol: "R",
        label: "Registration against the standard as it indicated",
        value: indicated.toText(),
        unit: "%",
      },
      { symbol: "R_s", label: "Certified registration of the standard", value: standard.toText(), unit: "%" },
    ],
    result: { symbol: "R_corrected", label: "Registration", value: corrected.toText(), unit: "%" },
    source: "Definition of percent registration, applied to meter and standard in turn",
  };
}
