import type { CellProblem } from "./cells.ts";
import type { Layout } from "./lay-out-columns.ts";
import type { FileRecord } from "./read-records.ts";

/** Why a record cannot be read cell by cell at all; null when it can. */
export function misreadRecord(record: FileRecord, layout: Layout): CellProblem | null {
  if (record.fault !== null) return { column: "", value: "", ...record.fault };
  if (record.fields.length === layout.width) return null;
  return {
    column: "",
    value: "",
    code: "wrong-column-count",
    detail: `This row has ${record.fields.length} cells, the headings are ${layout.width}. Look for a separator too many or too few, and put cells that contain one in quotes.`,
  };
}
