import { circuitFactor } from "../forms/circuit-factor.ts";
import { energyPerCount, factor } from "../units.ts";
import type { PointConstants } from "./evaluate-run.ts";
import type { EntryRefusal } from "./pass-evaluation.ts";
import { readPositive } from "./read-positive.ts";
import type { MeterConstants, PlanPoint } from "./test-terms.ts";

/**
 * What one count of the meter stands for at a point, and how often the meter sees the standard's energy there. The
 * table of forms is asked first; where it does not know, the factor that a person gave is taken.
 *
 * @param meter  form, constants and factors given by a person
 * @param point  the plan's point
 * @returns the constants, or what must be asked of a person
 * @source circuitFactor
 */
export function constantsAtPoint(
  meter: MeterConstants,
  point: PlanPoint,
): { constants: PointConstants } | { constants: null; refusals: EntryRefusal[] } {
  const refusals: EntryRefusal[] = [];
  const refuse = (field: string, text: string, reason: string) => {
    refusals.push({ pointKey: point.key, runIndex: null, field, text, reason });
    return null;
  };
  const whPerCount = constantOf(meter, point, refuse);
  const seen = factorOf(meter, point, refuse);
  if (whPerCount === null || seen === null) {
    return { constants: null, refusals };
  }
  return {
    constants: {
      whPerCount: energyPerCount(whPerCount, point.quantity),
      circuitFactor: factor(seen.value),
      circuitFactorSource: seen.source,
    },
  };
}

type Refuse = (field: string, text: string, reason: string) => null;

function constantOf(meter: MeterConstants, point: PlanPoint, refuse: Refuse) {
  const [field, text] =
    point.countConstant === "Kh" ? (["kh", meter.kh] as const) : (["kt", meter.kt] as const);
  const read = readPositive(text ?? "");
  if (read.kind === "number") {
    return read.value;
  }
  const reason = read.kind === "blank" ? `The meter's ${point.countConstant} is not known.` : read.reason;
  return refuse(field, text ?? "", reason);
}

function factorOf(meter: MeterConstants, point: PlanPoint, refuse: Refuse) {
  const known = circuitFactor(meter.form, point.circuits);
  if (known.kind === "known") {
    return { value: known.factor, source: known.source };
  }
  const given = meter.circuitFactors?.[point.circuits] ?? "";
  const read = readPositive(given);
  if (read.kind === "number") {
    return { value: read.value, source: "given by a person for this meter" };
  }
  const reason =
    read.kind === "blank"
      ? `${known.reason} Give how often the meter sees the standard's energy.`
      : read.reason;
  return refuse("circuits", given, reason);
}
