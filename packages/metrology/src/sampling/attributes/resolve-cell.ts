import type { InspectionSeverity } from "../sampling-terms.ts";
import { attributesAqls, type SingleSamplingRow, singleSamplingTables } from "./milstd105e-tables.ts";

/** The plan a cell of Table II leads to, and the cell as printed. */
export interface ResolvedCell {
  /** Letter of the row whose plan is used; an arrow changes it, and the sample size with it. */
  planLetter: string;
  sampleSize: number;
  acceptanceNumber: number;
  rejectionNumber: number;
  /** The cell of the plan as printed: "5", or "2/5". */
  planCell: string;
  arrow: "none" | "down" | "up";
}

/**
 * Follows a cell of Table II of MIL-STD-105E to its plan. Down and up arrows are followed to the first plan they meet.
 *
 * @param severity which of Tables II-A, II-B, II-C
 * @param letter code letter of the row, A to R without I and O
 * @param aql one of the table's AQLs, percent nonconforming or nonconformities per 100 units
 * @returns the plan
 * @throws RangeError if the table has no such row or column
 * @source MIL-STD-105E, Tables II-A, II-B and II-C and their footnote on arrows
 * @example resolveCell("normal", "K", 1) // plan letter K, n 125, Ac 3, Re 4
 */
export function resolveCell(severity: InspectionSeverity, letter: string, aql: number): ResolvedCell {
  const rows = singleSamplingTables[severity];
  const column = (attributesAqls as readonly number[]).indexOf(aql);
  const start = rows.findIndex(([rowLetter]) => rowLetter === letter);
  if (column < 0 || start < 0)
    throw new RangeError(`Table II has no cell for letter ${letter} and AQL ${aql}`);
  const first = cellOf(rows[start], column);
  const step = first === "↓" ? 1 : first === "↑" ? -1 : 0;
  let place = start;
  let cell = first;
  // Invariant: the arrows of one column point towards a plan, so that a step never meets the opposite arrow.
  while (cell === "↓" || cell === "↑") {
    place += step;
    cell = cellOf(rows[place], column);
  }
  const [planLetter, sampleSize] = rows[place] as SingleSamplingRow;
  const [ac, re] = cell.split("/").map(Number);
  const acceptanceNumber = ac as number;
  return {
    planLetter,
    sampleSize,
    acceptanceNumber,
    rejectionNumber: re ?? acceptanceNumber + 1,
    planCell: cell,
    arrow: step === 0 ? "none" : step > 0 ? "down" : "up",
  };
}

function cellOf(row: SingleSamplingRow | undefined, column: number): string {
  const cell = row?.[2].split(" ")[column];
  if (cell === undefined) throw new RangeError("an arrow of Table II leads out of the table");
  return cell;
}
