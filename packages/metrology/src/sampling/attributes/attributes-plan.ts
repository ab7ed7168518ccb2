import { codeLetterOf } from "../code-letter-of.ts";
import { refusePlan } from "../refuse-plan.ts";
import { requireWhole } from "../require-whole.ts";
import type { InspectionSeverity, PlanRefusal } from "../sampling-terms.ts";
import { attributesAqls, attributesCodeLetters, attributesLevels } from "./milstd105e-tables.ts";
import { resolveCell } from "./resolve-cell.ts";

export interface AttributesPlanRequest {
  /** Units in the lot, whole. */
  lotSize: number;
  /** Inspection level: S-1, S-2, S-3, S-4, I, II or III. */
  level: string;
  /** Percent nonconforming (up to 10) or nonconformities per 100 units. */
  aql: number;
  inspection: InspectionSeverity;
}

/** A single sampling plan by attributes. */
export interface AttributesPlan {
  kind: "plan";
  /** Code letter of Table I. */
  letter: string;
  /** Letter of the row that is used after arrows. */
  planLetter: string;
  /** Units to inspect: the plan's sample size, or the whole lot when the plan asks for as much or more. */
  n: number;
  ac: number;
  re: number;
  /** Sample size as the table prints it, before it is held to the lot. */
  tableSampleSize: number;
  allInspected: boolean;
  /** What the reader must know beside the numbers, in sentences. */
  notes: string[];
}

/**
 * Single sampling plan by attributes.
 *
 * Where the table asks for as many units as the lot has or more, all are inspected; the standard gives no acceptance
 * number of its own for that case, so the plan's stands and a note says so.
 *
 * @param request lot size, level, AQL and severity
 * @returns the plan, or why there is none: a lot below 2, a level or an AQL that is not in the tables
 * @throws RangeError if the lot size is not a whole number of at least 0
 * @source MIL-STD-105E (10 May 1989), Tables I, II-A, II-B, II-C; ANSI/ASQ Z1.4 prints the same plans
 * @example attributesPlan({ lotSize: 2000, level: "II", aql: 1, inspection: "normal" }) // letter K, n 125, Ac 3, Re 4
 */
export function attributesPlan(request: AttributesPlanRequest): AttributesPlan | PlanRefusal {
  const { lotSize, level, aql, inspection } = request;
  requireWhole(lotSize, 0, "the lot size");
  if (lotSize < 2) {
    return refusePlan(
      "lot-too-small",
      lotSize === 0
        ? "The lot is empty: there is nothing to sample."
        : "A lot of one has no sampling plan (Table I starts at 2): test the meter itself.",
    );
  }
  const levelIndex = (attributesLevels as readonly string[]).indexOf(level);
  if (levelIndex < 0) {
    return refusePlan(
      "level-not-in-standard",
      `MIL-STD-105E has no inspection level ${level}; its levels are ${attributesLevels.join(", ")}.`,
    );
  }
  if (!(attributesAqls as readonly number[]).includes(aql)) {
    return refusePlan(
      "aql-not-in-table",
      `AQL ${aql} is no column of the tables; the columns are ${attributesAqls.join(", ")}.`,
    );
  }
  const letter = codeLetterOf(attributesCodeLetters, lotSize, levelIndex);
  const cell = resolveCell(inspection, letter, aql);
  const allInspected = cell.sampleSize >= lotSize;
  const notes: string[] = [];
  if (cell.arrow !== "none") {
    notes.push(
      `The ${cell.arrow} arrow at letter ${letter} leads to letter ${cell.planLetter}: its sample size, Ac and Re are used.`,
    );
  }
  if (allInspected) {
    notes.push(
      `All inspected: the plan asks for ${cell.sampleSize} units and the lot has ${lotSize}. The plan's acceptance number stands; the standard gives no other.`,
    );
  }
  if (aql > 10)
    notes.push("An AQL above 10 counts nonconformities per 100 units, not percent nonconforming.");
  if (cell.rejectionNumber > cell.acceptanceNumber + 1) {
    notes.push(
      `With more than ${cell.acceptanceNumber} and fewer than ${cell.rejectionNumber} nonconforming the lot is accepted and normal inspection returns.`,
    );
  }
  return {
    kind: "plan",
    letter,
    planLetter: cell.planLetter,
    n: Math.min(cell.sampleSize, lotSize),
    ac: cell.acceptanceNumber,
    re: cell.rejectionNumber,
    tableSampleSize: cell.sampleSize,
    allInspected,
    notes,
  };
}
