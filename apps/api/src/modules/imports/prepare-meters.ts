import type { InventoryField, MetersMapping } from "@sealbook/contract/imports";
import type { Tx } from "../../platform/transaction.ts";
import { judgeListedMeters, type ListedMeter, type MeterFault } from "../meters/meters.ts";
import type { PreparedRows, RowSource } from "./prepared-rows.ts";
import { headingOf, inOrder, readListed } from "./read-listed.ts";
import { readMeterRow } from "./read-meter-row.ts";
import type { FileRecord } from "./read-records.ts";
import { writeRowsEntry } from "./write-rows-entry.ts";

/** Reads the rows of a list of meters and asks the book what becomes of each. */
export async function prepareMeters(
  tx: Tx,
  source: RowSource<MetersMapping>,
  records: readonly FileRecord[],
): Promise<PreparedRows> {
  const { layout, mapping } = source;
  const { rows, problems } = await readListed(
    tx,
    source,
    records,
    (record) => readMeterRow(record, layout, mapping),
    ({ utilityNumber, maker, serial }) => [
      { field: "utilityNumber", text: utilityNumber },
      { field: "serial", text: `${maker} ${serial}` },
    ],
  );
  const { good, already, faults, add } = await judgeListedMeters(tx, rows);
  const byRow = new Map(faults.length === 0 ? [] : rows.map((row) => [row.rowNumber, row]));
  for (const { rowNumber, fault, other } of faults) {
    const row = byRow.get(rowNumber);
    if (row === undefined) continue;
    const { field, detail } = sentences[fault](row, other);
    const value = String(row[field] ?? "");
    problems.push({ rowNumber, column: headingOf(layout, field), value, code: fault, detail });
  }
  return {
    good,
    already,
    problems: inOrder(problems),
    putIn: async () => add(await writeRowsEntry(tx, source, records, good)),
  };
}

type Sentence = (
  row: ListedMeter,
  other: string,
) => { field: Extract<InventoryField, keyof ListedMeter>; detail: string };

const sentences: Record<MeterFault, Sentence> = {
  "unknown-type": ({ maker }) => ({
    field: "model",
    detail: `${maker} has no such model on record with this form and class. Add the meter type first, or correct the row.`,
  }),
  "ambiguous-type": () => ({
    field: "model",
    detail:
      "Several types of this maker have this model. Give the form and the class in columns of their own.",
  }),
  "retired-type": () => ({
    field: "model",
    detail:
      "This type is retired: no new meters of it are taken in. Correct the row, or take the type back into use.",
  }),
  "unknown-place": () => ({
    field: "place",
    detail: "No place and no service point is on record by this name. Add it first, or correct the row.",
  }),
  "ambiguous-place": () => ({
    field: "place",
    detail: "Several places have this name. Rename one of them, or correct the row.",
  }),
  "purchase-in-future": () => ({
    field: "purchasedOn",
    detail: "This lies in the future. Correct the date, or change the mapping's order of the date.",
  }),
  "placing-in-future": () => ({
    field: "placedOn",
    detail: "This lies in the future. Correct the date, or change the mapping's order of the date.",
  }),
  "placed-before-purchase": ({ purchasedOn }) => ({
    field: "placedOn",
    detail: `This is before the meter was bought, on ${purchasedOn}. Correct one of the two dates.`,
  }),
  "serial-taken": ({ maker }, other) => ({
    field: "serial",
    detail: `This serial of ${maker} is on record with the utility number ${other}. Correct the row, or open that meter.`,
  }),
  "number-taken": (_, other) => ({
    field: "utilityNumber",
    detail: `This number belongs to a meter in use, serial ${other}. Correct the row, or open that meter.`,
  }),
};
