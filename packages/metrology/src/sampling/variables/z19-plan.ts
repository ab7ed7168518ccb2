import { codeLetterOf } from "../code-letter-of.ts";
import { refusePlan } from "../refuse-plan.ts";
import { requireWhole } from "../require-whole.ts";
import type { PlanRefusal } from "../sampling-terms.ts";
import type { VariablesPlan, VariablesPlanRequest } from "./variables-plan.ts";
import { wholeLotNotes } from "./whole-lot-notes.ts";
import { z19Aqls, z19CodeLetters, z19Levels, z19MaximumPercents } from "./z19-tables.ts";

/**
 * Sampling plan by variables of ANSI/ASQ Z1.9: standard deviation method, variability unknown, Form 2.
 *
 * @param request lot size, level (S-3, S-4, I, II, III), AQL in percent, severity
 * @returns the plan, or why there is none: a lot below 2, a level or an AQL that is not in the tables
 * @throws RangeError if the lot size is not a whole number of at least 0
 * @source ANSI/ASQ Z1.9-1993 and 2003, Tables A-2, B-3, B-4
 * @example z19Plan({ lotSize: 5000, level: "II", aql: 1, inspection: "normal" }) // letter L, n 75, M 2.27 %
 */
export function z19Plan(request: VariablesPlanRequest): VariablesPlan | PlanRefusal {
  const { lotSize, level, aql, inspection } = request;
  requireWhole(lotSize, 0, "the lot size");
  if (lotSize < 2) {
    return refusePlan("lot-too-small", `Z1.9 has no plan for a lot of ${lotSize}: Table A-2 starts at 2.`);
  }
  const levelIndex = (z19Levels as readonly string[]).indexOf(level);
  if (levelIndex < 0) {
    return refusePlan(
      "level-not-in-standard",
      `Z1.9 has no inspection level ${level}; its levels are ${z19Levels.join(", ")}. Levels IV and V belong to MIL-STD-414 of 1957.`,
    );
  }
  const column = (z19Aqls as readonly number[]).indexOf(aql);
  if (column < 0) {
    return refusePlan(
      "aql-not-in-table",
      `AQL ${aql} is no column of Z1.9; the columns are ${z19Aqls.join(", ")}.`,
    );
  }
  const letter = codeLetterOf(z19CodeLetters, lotSize, levelIndex);
  const cell = z19MaximumPercents[inspection][letter]?.split(" ")[column];
  if (cell === undefined) throw new RangeError(`Tables B-3 and B-4 have no cell for letter ${letter}`);
  const [sampleSize, maximumPercent] = cell.split(":").map(Number) as [number, number];
  return {
    kind: "plan",
    standard: "ANSI/ASQ Z1.9",
    letter,
    n: Math.min(sampleSize, lotSize),
    maximumPercent,
    k: null,
    tableSampleSize: sampleSize,
    allInspected: sampleSize >= lotSize,
    notes: wholeLotNotes(sampleSize, lotSize),
  };
}
