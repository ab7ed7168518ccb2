import { attributesPlan } from "../attributes/attributes-plan.ts";
import { findTablePlan } from "../attributes/find-table-plan.ts";
import { protectionOfPlan } from "../characteristic/protection-of-plan.ts";
import { singleAcceptance } from "../characteristic/single-acceptance.ts";
import { variablesAcceptance } from "../characteristic/variables-acceptance.ts";
import { requireWhole } from "../require-whole.ts";
import type { InspectionSeverity, PlanRefusal } from "../sampling-terms.ts";
import type { SwitchingState } from "../switching/switching-state.ts";
import { milstd414Plan } from "../variables/milstd414-plan.ts";
import { z19Plan } from "../variables/z19-plan.ts";
import type { CharacteristicPlan, LotPlan } from "./lot-plan-schema.ts";
import {
  type JudgedCharacteristic,
  type SamplingCharacteristic,
  type SamplingScheme,
  samplingCharacteristicNames,
} from "./sampling-scheme.ts";

/** Where the series of each characteristic has come to, with its reasons; absent is a new series: normal. */
export type SeveritiesOfLot = Partial<
  Record<SamplingCharacteristic, { severity: SwitchingState["severity"]; reasons: readonly string[] }>
>;

/** Why a lot cannot be planned. */
export interface LotPlanRefusal {
  kind: "refused";
  reason: PlanRefusal["reason"] | "empty-lot" | "lot-below-least" | "lot-above-greatest" | "discontinued";
  sentence: string;
}

/**
 * Sampling plan of a lot: one plan a characteristic, under the severity of its series; the sample is as large as the
 * largest of them.
 *
 * A lot that is too small for the standard's tables is tested whole, and none may be nonconforming: the standards have
 * no such plan; common practice, no source.
 *
 * @param scheme the sampling scheme
 * @param lotSize meters in the lot, a whole number of at least 0
 * @param severities where the series stand
 * @returns the plan, or why there is none
 * @throws RangeError if the lot size is not a whole number of at least 0
 * @source the scheme's own
 * @example planLot(indianaScheme, 5000, {}) // letter L of Z1.9, n 75, AQL 2.5: M 4.83 % (Tables A-2, B-3)
 */
export function planLot(
  scheme: SamplingScheme,
  lotSize: number,
  severities: SeveritiesOfLot,
): { kind: "planned"; plan: LotPlan } | LotPlanRefusal {
  requireWhole(lotSize, 0, "the lot size");
  if (lotSize === 0) {
    return {
      kind: "refused",
      reason: "empty-lot",
      sentence: "The lot is empty: there is nothing to sample.",
    };
  }
  const { min, max } = scheme.lotSize;
  if (lotSize < min) {
    return {
      kind: "refused",
      reason: "lot-below-least",
      sentence: `A lot of ${lotSize} is below the least of ${min} (${scheme.source}).`,
    };
  }
  if (max !== null && lotSize > max) {
    return {
      kind: "refused",
      reason: "lot-above-greatest",
      sentence: `A lot of ${lotSize} is above the greatest of ${max} (${scheme.source}): split it.`,
    };
  }
  const characteristics: CharacteristicPlan[] = [];
  let drawn = 0;
  for (const judged of scheme.characteristics) {
    const { severity, reasons } = severities[judged.characteristic] ?? {
      severity: "normal" as const,
      reasons: ["A new series begins with normal inspection."],
    };
    if (severity === "discontinued") {
      return {
        kind: "refused",
        reason: "discontinued",
        sentence: `Inspection of ${samplingCharacteristicNames[judged.characteristic].toLowerCase()} is discontinued for this series: corrective action comes first.`,
      };
    }
    const found = planOf(scheme, judged, lotSize, severity);
    if ("kind" in found) return found;
    drawn = Math.max(drawn, found.drawn);
    characteristics.push({ ...found.plan, reasons: [...reasons] });
  }
  const n = Math.max(...characteristics.map(({ plan }) => plan.n));
  const spares = scheme.replacement.allowed
    ? Math.max(Math.ceil((n * scheme.replacement.sparesPercent) / 100), drawn - n)
    : 0;
  return {
    kind: "planned",
    plan: { format: 1, lotSize, characteristics, n, spares: Math.min(spares, lotSize - n) },
  };
}

interface FoundPlan {
  plan: CharacteristicPlan;
  /** Meters that the table wants drawn in all; 0 where it does not say. */
  drawn: number;
}

function planOf(
  scheme: SamplingScheme,
  judged: JudgedCharacteristic,
  lotSize: number,
  severity: InspectionSeverity,
): FoundPlan | LotPlanRefusal {
  const { characteristic } = judged;
  const common = { characteristic, severity, reasons: [] };
  if (scheme.plan.kind === "plan-table") {
    const { table } = scheme.plan;
    if (severity === "reduced") {
      return {
        kind: "refused",
        reason: "severity-not-available",
        sentence: `${table.name} has no reduced plan (${table.source}).`,
      };
    }
    const found = findTablePlan(table, lotSize, severity);
    if (found.kind === "refused") return found;
    const { n, ac, re, allInspected, source } = found;
    return {
      drawn: found.drawn,
      plan: {
        ...common,
        aqlPercent: null,
        plan: { kind: "plan-table", table: table.name, source, n, ac, re, allInspected },
        notes: allInspected ? [allInspectedNote(lotSize)] : [],
        protection: protectionByCount(n, ac, allInspected),
      },
    };
  }
  const { edition, level } = scheme.plan;
  const aqlPercent = judged.aqlPercent ?? scheme.plan.aqlPercent;
  const request = { lotSize, level, aql: Number(aqlPercent), inspection: severity };
  if (scheme.plan.kind === "attributes") {
    const found = attributesPlan(request);
    if (found.kind === "refused") return wholeLotInstead(found, common, aqlPercent, lotSize);
    const { letter, planLetter, n, ac, re, allInspected, notes } = found;
    return {
      drawn: 0,
      plan: {
        ...common,
        aqlPercent,
        plan: { kind: "attributes", edition, letter, planLetter, n, ac, re, allInspected },
        notes,
        protection: protectionByCount(n, ac, allInspected),
      },
    };
  }
  const found = edition === "MIL-STD-414" ? milstd414Plan(request) : z19Plan(request);
  if (found.kind === "refused") return wholeLotInstead(found, common, aqlPercent, lotSize);
  const { letter, n, maximumPercent, allInspected, notes } = found;
  return {
    drawn: 0,
    plan: {
      ...common,
      aqlPercent,
      plan: { kind: "variables", edition, letter, n, maximumPercent, allInspected },
      notes,
      protection: allInspected
        ? null
        : protectionOfPlan((p) => variablesAcceptance({ n, maximumPercent }, p)),
    },
  };
}

function wholeLotInstead(
  refusal: PlanRefusal,
  common: Pick<CharacteristicPlan, "characteristic" | "severity" | "reasons">,
  aqlPercent: string,
  lotSize: number,
): FoundPlan | LotPlanRefusal {
  if (refusal.reason !== "lot-too-small") return refusal;
  return {
    drawn: 0,
    plan: {
      ...common,
      aqlPercent,
      plan: { kind: "whole-lot", n: lotSize, ac: 0, re: 1, allInspected: true },
      notes: [
        `${refusal.sentence} Every meter is tested and none may be nonconforming (common practice, no source).`,
      ],
      protection: null,
    },
  };
}

function allInspectedNote(lotSize: number): string {
  return `All inspected: the plan asks for as many meters as the lot of ${lotSize} has, or more.`;
}

function protectionByCount(n: number, ac: number, allInspected: boolean): CharacteristicPlan["protection"] {
  return allInspected || ac >= n
    ? null
    : protectionOfPlan((fraction) => singleAcceptance({ n, ac }, fraction).probability);
}
