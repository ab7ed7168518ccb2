import { attributesAqls, attributesLevels } from "@sealbook/metrology/sampling/attributes/milstd105e-tables";
import type { InspectionSeverity } from "@sealbook/metrology/sampling/sampling-terms";
import {
  milstd414Levels,
  milstd414NormalAqls,
  milstd414TightenedAqls,
} from "@sealbook/metrology/sampling/variables/milstd414-tables";
import { z19Aqls, z19Levels } from "@sealbook/metrology/sampling/variables/z19-tables";

/** What the tables of one standard, or a national table, can be asked for. */
export interface PlanStandard {
  key: PlanStandardKey;
  name: string;
  /** Empty where the table knows neither level nor AQL. */
  levels: readonly string[];
  usualLevel: string;
  aqls: (severity: InspectionSeverity) => readonly number[];
  usualAql: string;
  severities: readonly InspectionSeverity[];
}

type PlanStandardKey = "attributes" | "attributes-double" | "z1.9" | "milstd-414" | "france-in-service";

/** Above 10 an AQL counts nonconformities, not nonconforming meters: no meter shop asks for that. */
const percentAqls = attributesAqls.filter((aql) => aql <= 10);
const allSeverities: readonly InspectionSeverity[] = ["normal", "tightened", "reduced"];

/** Every table that the plan chooser offers. */
export const planStandards: readonly PlanStandard[] = [
  {
    key: "attributes",
    name: "MIL-STD-105E, Z1.4: single",
    levels: attributesLevels,
    usualLevel: "II",
    aqls: () => percentAqls,
    usualAql: "1",
    severities: allSeverities,
  },
  {
    key: "attributes-double",
    name: "MIL-STD-105E, Z1.4: double",
    levels: attributesLevels,
    usualLevel: "II",
    aqls: () => percentAqls,
    usualAql: "1",
    severities: allSeverities,
  },
  {
    key: "z1.9",
    name: "Z1.9: by variables",
    levels: z19Levels,
    usualLevel: "II",
    aqls: () => z19Aqls,
    usualAql: "2.5",
    severities: allSeverities,
  },
  {
    key: "milstd-414",
    name: "MIL-STD-414: by variables",
    levels: milstd414Levels,
    usualLevel: "IV",
    aqls: (severity) => (severity === "tightened" ? milstd414TightenedAqls : milstd414NormalAqls),
    usualAql: "2.5",
    severities: ["normal", "tightened"],
  },
  {
    key: "france-in-service",
    name: "France: meters in service",
    levels: [],
    usualLevel: "",
    aqls: () => [],
    usualAql: "",
    severities: ["normal", "tightened"],
  },
];

/** What the plan is asked for, as typed or chosen. */
export interface PlanChoice {
  standard: PlanStandardKey;
  lotSize: string;
  level: string;
  aql: string;
  severity: InspectionSeverity;
  /** Percent nonconforming that the sentence is about. */
  percent: string;
}

/**
 * Reads a choice from the address; whatever is missing or not offered by the standard takes its usual value.
 *
 * @param search  the part of the address after "?"
 * @returns a choice that the standard's tables can answer, but for the two numbers, which stay as typed
 */
export function readPlanChoice(search: Readonly<Record<string, string>>): PlanChoice {
  const standard = standardOf(search.standard);
  const severity = standard.severities.find((one) => one === search.severity) ?? "normal";
  return {
    standard: standard.key,
    lotSize: search.lotSize ?? "3000",
    level: standard.levels.find((one) => one === search.level) ?? standard.usualLevel,
    aql:
      standard
        .aqls(severity)
        .map(String)
        .find((one) => one === search.aql) ?? standard.usualAql,
    severity,
    percent: search.percent ?? "",
  };
}

export function standardOf(key: string | undefined): PlanStandard {
  const [first] = planStandards;
  if (first === undefined) throw new RangeError("there are no plan tables");
  return planStandards.find((standard) => standard.key === key) ?? first;
}
