import { writeEntry } from "../../platform/ledger.ts";
import type { Tx } from "../../platform/transaction.ts";
import type { RowSource } from "./prepared-rows.ts";
import type { FileRecord } from "./read-records.ts";

/**
 * Writes the one ledger entry of some rows of a file; what they put into the book is bound to it row by row by the log.
 */
export async function writeRowsEntry(
  tx: Tx,
  { importId, mapping }: Pick<RowSource, "importId" | "mapping">,
  records: readonly FileRecord[],
  good: number,
): Promise<string> {
  return await writeEntry(tx, {
    action: "import.rows",
    subjectType: "import",
    subjectId: importId,
    payload: {
      kind: mapping.kind,
      firstRow: records[0]?.number ?? 0,
      lastRow: records.at(-1)?.number ?? 0,
      rowsGood: good,
    },
  });
}
