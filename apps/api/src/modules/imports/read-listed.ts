import type { InventoryField } from "@sealbook/contract/imports";
import type { Tx } from "../../platform/transaction.ts";
import type { CellProblem } from "./cells.ts";
import { findRepeats, type RowKey } from "./find-repeats.ts";
import type { Layout } from "./lay-out-columns.ts";
import type { RowSource } from "./prepared-rows.ts";
import type { FileRecord } from "./read-records.ts";
import type { RowProblem } from "./store.ts";

/** A row's cells, read; or why they cannot be. */
export type ReadRow<Row> = { kind: "row"; row: Row } | { kind: "problems"; problems: CellProblem[] };

/**
 * Reads the rows of an inventory's file, and in a dry run looks for those that name what an earlier row has named.
 *
 * @param keysOf what must stand in one row alone
 */
export async function readListed<Row extends { readonly rowNumber: number }>(
  tx: Tx,
  { layout, seen }: Pick<RowSource, "layout" | "seen">,
  records: readonly FileRecord[],
  read: (record: FileRecord) => ReadRow<Row>,
  keysOf: (row: Row) => readonly Omit<RowKey, "rowNumber">[],
): Promise<{ rows: Row[]; problems: RowProblem[] }> {
  const rows: Row[] = [];
  const problems: RowProblem[] = [];
  for (const record of records) {
    const result = read(record);
    if (result.kind === "row") rows.push(result.row);
    else problems.push(...result.problems.map((problem) => ({ ...problem, rowNumber: record.number })));
  }
  if (seen === null || rows.length === 0) return { rows, problems };
  const repeats = await findRepeats(
    tx,
    rows.flatMap((row) => keysOf(row).map((key) => ({ ...key, rowNumber: row.rowNumber }))),
  );
  if (repeats.length === 0) return { rows, problems };
  problems.push(
    ...repeats.map(({ rowNumber, field, text, earlier }) => ({
      rowNumber,
      column: headingOf(layout, field),
      value: text,
      code: "duplicate-in-file",
      detail: `Row ${earlier} has the same here. Keep the one that is right.`,
    })),
  );
  const repeated = new Set(repeats.map(({ rowNumber }) => rowNumber));
  return { rows: rows.filter(({ rowNumber }) => !repeated.has(rowNumber)), problems };
}

export function headingOf(layout: Layout, field: InventoryField): string {
  return layout.of(field)?.heading ?? "";
}

export function inOrder(problems: RowProblem[]): RowProblem[] {
  return problems.sort((one, other) => one.rowNumber - other.rowNumber);
}
