import type { ServicePointsMapping } from "@sealbook/contract/imports";
import type { Tx } from "../../platform/transaction.ts";
import { judgeListedPoints, type ListedPoint, type PointFault } from "../service-points/service-points.ts";
import { InventoryCells } from "./inventory-cells.ts";
import { misreadRecord } from "./misread-record.ts";
import type { PreparedRows, RowSource } from "./prepared-rows.ts";
import { headingOf, inOrder, type ReadRow, readListed } from "./read-listed.ts";
import type { FileRecord } from "./read-records.ts";
import { writeRowsEntry } from "./write-rows-entry.ts";

/** Reads the rows of a list of service points and asks the book what becomes of each. */
export async function prepareServicePoints(
  tx: Tx,
  source: RowSource<ServicePointsMapping>,
  records: readonly FileRecord[],
): Promise<PreparedRows> {
  const { layout } = source;
  const { rows, problems } = await readListed(
    tx,
    source,
    records,
    (record) => readPointRow(record, source),
    ({ number }) => [{ field: "servicePoint", text: number }],
  );
  const { good, already, faults, add } = await judgeListedPoints(tx, rows);
  const byRow = new Map(faults.length === 0 ? [] : rows.map((row) => [row.rowNumber, row]));
  for (const { rowNumber, fault } of faults) {
    const row = byRow.get(rowNumber);
    if (row === undefined) continue;
    const { field, value, detail } = sentences[fault](row);
    problems.push({ rowNumber, column: headingOf(layout, field), value, code: fault, detail });
  }
  return {
    good,
    already,
    problems: inOrder(problems),
    // Addresses stay out of the ledger; the log binds their commitments with the rows.
    putIn: async () => add(await writeRowsEntry(tx, source, records, good)),
  };
}

function readPointRow(
  record: FileRecord,
  { layout, mapping }: Pick<RowSource<ServicePointsMapping>, "layout" | "mapping">,
): ReadRow<ListedPoint> {
  const misread = misreadRecord(record, layout);
  if (misread !== null) return { kind: "problems", problems: [misread] };
  const cells = new InventoryCells(record.fields, layout, mapping);
  const row = {
    rowNumber: record.number,
    number: cells.needed("servicePoint", 40),
    address: cells.needed("address", 200),
    area: cells.needed("area", 80),
    jurisdiction: cells.needed("jurisdiction", 40),
  };
  return cells.problems.length > 0 ? { kind: "problems", problems: cells.problems } : { kind: "row", row };
}

const sentences: Record<
  PointFault,
  (row: ListedPoint) => { field: "servicePoint" | "jurisdiction"; value: string; detail: string }
> = {
  "unknown-jurisdiction": ({ jurisdiction }) => ({
    field: "jurisdiction",
    value: jurisdiction,
    detail: "There is no rule profile of this name. Write one of those on record.",
  }),
  "number-taken": ({ number }) => ({
    field: "servicePoint",
    value: number,
    detail:
      "A service point of this number is on record with another address, area or jurisdiction. Correct the row, or open that service point.",
  }),
};
