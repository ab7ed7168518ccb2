import { franceInServicePlans } from "@sealbook/metrology/sampling/attributes/france-in-service-plans";
import type { PlanTable } from "@sealbook/metrology/sampling/attributes/plan-table";
import {
  type AbsenceReason,
  absenceReasons,
  type SamplingCharacteristic,
  type SamplingScheme,
  type SchemePreset,
  samplingCharacteristics,
} from "@sealbook/metrology/sampling/decision/sampling-scheme";

/** One characteristic as its row of the form holds it. */
export interface CharacteristicDraft {
  characteristic: SamplingCharacteristic;
  isJudged: boolean;
  minPercent: string;
  maxPercent: string;
  source: string;
  /** "" takes the plan's. */
  aqlPercent: string;
}

type AttributesEdition = Extract<SamplingScheme["plan"], { kind: "attributes" }>["edition"];
type VariablesEdition = Extract<SamplingScheme["plan"], { kind: "variables" }>["edition"];

const averageRoles = ["full-load", "light-load", "power-factor"] as const;
type AverageRole = (typeof averageRoles)[number];

/** A scheme's body as its form holds it: numbers as typed, "" where none is given. */
export interface SchemeDraft {
  purpose: SamplingScheme["purpose"];
  jurisdiction: string;
  source: string;
  planKind: SamplingScheme["plan"]["kind"];
  attributesEdition: AttributesEdition;
  variablesEdition: VariablesEdition;
  level: string;
  aqlPercent: string;
  table: PlanTable;
  characteristics: CharacteristicDraft[];
  /** Whether the average is made from the loads by the weights here, or is each test's own. */
  hasAverage: boolean;
  averageLabel: string;
  averageWeights: Record<AverageRole, string>;
  averageSource: string;
  untestableCounts: SamplingScheme["untestable"]["counts"];
  untestableReason: string;
  replacementAllowed: boolean;
  sparesPercent: string;
  replacementReasons: AbsenceReason[];
  lotMin: string;
  lotMax: string;
  standAloneFrom: string;
  groupYears: string;
  byFirmware: boolean;
  byArea: boolean;
  merge: NonNullable<SamplingScheme["grouping"]>["merge"];
  everyMonths: string;
  switching: boolean;
  limitNumbersDropped: boolean;
  /** One a line. */
  notes: string;
}

const textOf = (value: number | string | null) => (value === null ? "" : String(value));
const wholeOf = (text: string) => (/^\d{1,9}$/.test(text.trim()) ? Number(text) : Number.NaN);
const wholeOrNull = (text: string) => (text.trim() === "" ? null : wholeOf(text));

/** The form of a scheme on record, or of one that comes with the product and leaves something open. */
export function schemeDraftOf(body: SchemePreset["body"] | SamplingScheme): SchemeDraft {
  const { plan, average, grouping } = body;
  const weightOf = (role: AverageRole) => average?.weights.find((one) => one.role === role)?.weight ?? "";
  return {
    purpose: body.purpose,
    jurisdiction: body.jurisdiction ?? "",
    source: body.source,
    planKind: plan.kind,
    attributesEdition: plan.kind === "attributes" ? plan.edition : "ANSI/ASQ Z1.4-2003",
    variablesEdition: plan.kind === "variables" ? plan.edition : "ANSI/ASQ Z1.9",
    level: plan.kind === "plan-table" ? "II" : plan.level,
    aqlPercent: plan.kind === "plan-table" ? "" : textOf(plan.aqlPercent),
    table: plan.kind === "plan-table" ? plan.table : franceInServicePlans,
    characteristics: samplingCharacteristics.map((characteristic) => {
      const judged = body.characteristics.find((one) => one.characteristic === characteristic);
      return {
        characteristic,
        isJudged: judged !== undefined,
        minPercent: judged?.limits?.minPercent ?? "",
        maxPercent: judged?.limits?.maxPercent ?? "",
        source: judged?.limits?.source ?? "",
        aqlPercent: judged?.aqlPercent ?? "",
      };
    }),
    hasAverage: average !== null,
    averageLabel: average?.label ?? "",
    averageWeights: {
      "full-load": weightOf("full-load"),
      "light-load": weightOf("light-load"),
      "power-factor": weightOf("power-factor"),
    },
    averageSource: average?.source ?? "",
    untestableCounts: body.untestable.counts,
    untestableReason: body.untestable.reason,
    replacementAllowed: body.replacement.allowed,
    sparesPercent: String(body.replacement.sparesPercent),
    replacementReasons: body.replacement.reasons,
    lotMin: String(body.lotSize.min),
    lotMax: textOf(body.lotSize.max),
    standAloneFrom: textOf(body.lotSize.standAloneFrom),
    groupYears: textOf(grouping?.years ?? null),
    byFirmware: grouping?.firmware ?? false,
    byArea: grouping?.area ?? false,
    merge: grouping?.merge ?? "never",
    everyMonths: textOf(body.everyMonths),
    switching: body.switching,
    limitNumbersDropped: body.limitNumbersDropped,
    notes: body.notes.join("\n"),
  };
}

/** The body that the form describes. Numbers that are none become NaN, which the contract's check names. */
export function schemeBodyOf(draft: SchemeDraft): SamplingScheme {
  const { planKind, level, aqlPercent } = draft;
  const plan: SamplingScheme["plan"] =
    planKind === "plan-table"
      ? { kind: "plan-table", table: draft.table }
      : planKind === "attributes"
        ? { kind: "attributes", edition: draft.attributesEdition, level: level.trim(), aqlPercent }
        : { kind: "variables", edition: draft.variablesEdition, form: 2, level: level.trim(), aqlPercent };
  return {
    format: 1,
    purpose: draft.purpose,
    jurisdiction: draft.jurisdiction.trim() === "" ? null : draft.jurisdiction.trim(),
    source: draft.source.trim(),
    plan,
    characteristics: judgedOf(draft).map((one) => ({
      characteristic: one.characteristic,
      limits:
        one.characteristic === "verdict"
          ? null
          : { minPercent: one.minPercent, maxPercent: one.maxPercent, source: one.source.trim() },
      aqlPercent: one.aqlPercent === "" || planKind === "plan-table" ? null : one.aqlPercent,
    })),
    average: draft.hasAverage
      ? {
          label: draft.averageLabel.trim(),
          weights: averageRoles
            .filter((role) => draft.averageWeights[role] !== "")
            .map((role) => ({ role, weight: draft.averageWeights[role] })),
          source: draft.averageSource.trim(),
        }
      : null,
    untestable: { counts: draft.untestableCounts, reason: draft.untestableReason.trim() },
    replacement: {
      allowed: draft.replacementAllowed,
      sparesPercent: draft.replacementAllowed ? wholeOf(draft.sparesPercent) : 0,
      reasons: draft.replacementAllowed
        ? absenceReasons.filter((reason) => draft.replacementReasons.includes(reason))
        : [],
    },
    lotSize: {
      min: wholeOf(draft.lotMin),
      max: wholeOrNull(draft.lotMax),
      standAloneFrom: wholeOrNull(draft.standAloneFrom),
    },
    grouping:
      draft.purpose === "shipment"
        ? null
        : {
            years: wholeOrNull(draft.groupYears),
            firmware: draft.byFirmware,
            area: draft.byArea,
            merge: draft.merge,
          },
    everyMonths: wholeOrNull(draft.everyMonths),
    switching: draft.switching,
    limitNumbersDropped:
      draft.limitNumbersDropped &&
      planKind === "attributes" &&
      draft.attributesEdition === "ANSI/ASQ Z1.4-2003",
    notes: draft.notes
      .split("\n")
      .map((line) => line.trim())
      .filter((line) => line !== ""),
  };
}

/** The characteristics that are judged, in the order in which the body lists them. */
export function judgedOf(draft: SchemeDraft): CharacteristicDraft[] {
  return draft.characteristics.filter((one) => one.isJudged);
}
