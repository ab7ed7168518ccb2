import { codeLetterOf } from "../code-letter-of.ts";
import { refusePlan } from "../refuse-plan.ts";
import { requireWhole } from "../require-whole.ts";
import type { PlanRefusal } from "../sampling-terms.ts";
import {
  milstd414CodeLetters,
  milstd414Levels,
  milstd414NormalAqls,
  milstd414Plans,
  milstd414TightenedAqls,
} from "./milstd414-tables.ts";
import type { VariablesPlan, VariablesPlanRequest } from "./variables-plan.ts";
import { wholeLotNotes } from "./whole-lot-notes.ts";

/**
 * Sampling plan by variables of MIL-STD-414 (1957): standard deviation method, variability unknown, Forms 1 and 2.
 *
 * Tightened inspection reads the same column under the next larger AQL, so there is no tightened 0.04. Reduced
 * inspection (Tables B-2 and B-4) was not read in print and is refused.
 *
 * @param request lot size, level I to V (IV unless the rule says otherwise), AQL in percent, severity
 * @returns the plan with k and M, or why there is none
 * @throws RangeError if the lot size is not a whole number of at least 0
 * @source MIL-STD-414 (11 June 1957), Tables A-2, B-1, B-3
 * @example milstd414Plan({ lotSize: 40, level: "IV", aql: 1, inspection: "normal" }) // letter D, n 5, k 1.53, M 3.32 %
 */
export function milstd414Plan(request: VariablesPlanRequest): VariablesPlan | PlanRefusal {
  const { lotSize, level, aql, inspection } = request;
  requireWhole(lotSize, 0, "the lot size");
  if (lotSize < 3) {
    return refusePlan(
      "lot-too-small",
      `MIL-STD-414 has no plan for a lot of ${lotSize}: Table A-2 starts at 3.`,
    );
  }
  const levelIndex = (milstd414Levels as readonly string[]).indexOf(level);
  if (levelIndex < 0) {
    return refusePlan(
      "level-not-in-standard",
      `MIL-STD-414 has no inspection level ${level}; its levels are ${milstd414Levels.join(", ")}.`,
    );
  }
  if (inspection === "reduced") {
    return refusePlan(
      "severity-not-available",
      "Reduced inspection of MIL-STD-414 (Tables B-2 and B-4) is not carried: its tables could not be verified.",
    );
  }
  const columns: readonly number[] = inspection === "normal" ? milstd414NormalAqls : milstd414TightenedAqls;
  const column = columns.indexOf(aql);
  if (column < 0) {
    return refusePlan(
      "aql-not-in-table",
      `AQL ${aql} is no column of MIL-STD-414 for ${inspection} inspection; the columns are ${columns.join(", ")}.`,
    );
  }
  const letter = codeLetterOf(milstd414CodeLetters, lotSize, levelIndex);
  let row = milstd414Plans.findIndex(([rowLetter]) => rowLetter === letter);
  let cell = milstd414Plans[row]?.[2].split(" ")[column];
  while (cell === "↓") {
    row += 1;
    cell = milstd414Plans[row]?.[2].split(" ")[column];
  }
  const plan = milstd414Plans[row];
  if (cell === undefined || plan === undefined)
    throw new RangeError(`Tables B-1 and B-3 have no cell for ${letter}`);
  const [planLetter, sampleSize] = plan;
  const [k, maximumPercent] = cell.split("/").map(Number) as [number, number];
  const notes = wholeLotNotes(sampleSize, lotSize);
  if (planLetter !== letter) {
    notes.unshift(
      `The down arrow at letter ${letter} leads to letter ${planLetter}: its sample size, k and M are used.`,
    );
  }
  return {
    kind: "plan",
    standard: "MIL-STD-414",
    letter,
    n: Math.min(sampleSize, lotSize),
    maximumPercent,
    k,
    tableSampleSize: sampleSize,
    allInspected: sampleSize >= lotSize,
    notes,
  };
}
