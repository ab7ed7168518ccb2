import type { ShipmentField, ShipmentMapping } from "@sealbook/contract/imports";
import type { Tx } from "../../platform/transaction.ts";
import {
  judgeShipmentMeters,
  lockFormingShipment,
  type ShipmentRow,
  type ShipmentRowOutcome,
} from "../shipments/shipments.ts";
import type { PreparedRows, RowSource } from "./prepared-rows.ts";
import type { FileRecord } from "./read-records.ts";
import { readShipmentRow } from "./read-shipment-row.ts";
import type { RowProblem } from "./store.ts";

interface NumberedRow {
  readonly rowNumber: number;
  readonly row: ShipmentRow;
}

/** Reads the rows of a maker's list and asks the shipment what becomes of each. */
export async function prepareShipmentMeters(
  tx: Tx,
  { lotId, mapping, layout, seen }: RowSource<ShipmentMapping>,
  records: readonly FileRecord[],
): Promise<PreparedRows> {
  if (lotId === null) throw new Error("a maker's list belongs to a shipment");
  const { receivedOn } = await lockFormingShipment(tx, lotId);
  const rows: NumberedRow[] = [];
  const problems: RowProblem[] = [];
  const refuse = ({ rowNumber, row }: NumberedRow, field: ShipmentField, code: string, detail: string) => {
    const value = field === "utilityNumber" ? row.utilityNumber : row.serial;
    problems.push({ rowNumber, column: layout.of(field)?.heading ?? "", value: value ?? "", code, detail });
  };
  for (const record of records) {
    const read = readShipmentRow(record, layout, mapping, receivedOn);
    if (read.kind === "problems") {
      problems.push(...read.problems.map((problem) => ({ ...problem, rowNumber: record.number })));
      continue;
    }
    const row = { rowNumber: record.number, row: read.row };
    const repeated = seen === null ? [] : repetitions(row, seen);
    for (const { field, earlier } of repeated) {
      refuse(
        row,
        field,
        "duplicate-in-file",
        `Row ${earlier} has the same ${field === "serial" ? "serial" : "utility number"}. Keep the one that is right.`,
      );
    }
    if (repeated.length === 0) rows.push(row);
  }
  const { outcomes, add } = await judgeShipmentMeters(
    tx,
    lotId,
    rows.map(({ row }) => row),
  );
  for (const [index, row] of rows.entries()) {
    const outcome = outcomes[index];
    if (outcome?.kind === "set-aside") refuse(row, fieldOf(outcome), outcome.code, outcome.detail);
  }
  const countOf = (...kinds: ShipmentRowOutcome["kind"][]) =>
    outcomes.filter(({ kind }) => kinds.includes(kind)).length;
  return {
    good: countOf("created", "added"),
    already: countOf("already"),
    problems: problems.sort((one, other) => one.rowNumber - other.rowNumber),
    putIn: add,
  };
}

/** Which of a row's two numbers an earlier row has; what is new is remembered. */
function repetitions(
  { rowNumber, row: { serial, utilityNumber } }: NumberedRow,
  seen: Map<string, number>,
): { field: "serial" | "utilityNumber"; earlier: number }[] {
  const named = [
    { field: "serial" as const, text: serial },
    ...(utilityNumber === null ? [] : [{ field: "utilityNumber" as const, text: utilityNumber }]),
  ];
  return named.flatMap(({ field, text }) => {
    const earlier = seen.get(`${field} ${text}`);
    if (earlier !== undefined) return [{ field, earlier }];
    seen.set(`${field} ${text}`, rowNumber);
    return [];
  });
}

function fieldOf({ code }: Extract<ShipmentRowOutcome, { kind: "set-aside" }>): ShipmentField {
  return code === "number-taken" || code === "unknown-meter" ? "utilityNumber" : "serial";
}
