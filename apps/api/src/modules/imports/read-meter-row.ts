import type { MetersMapping } from "@sealbook/contract/imports";
import { newId } from "../../platform/transaction.ts";
import type { ListedMeter } from "../meters/meters.ts";
import type { CellProblem } from "./cells.ts";
import { InventoryCells } from "./inventory-cells.ts";
import type { Layout } from "./lay-out-columns.ts";
import { misreadRecord } from "./misread-record.ts";
import type { FileRecord } from "./read-records.ts";

const owners = { utility: "the utility", customer: "the customer" };

/** Reads one record of a list of meters by its mapping. Every cell that cannot be taken is told, not only the first. */
export function readMeterRow(
  record: FileRecord,
  layout: Layout,
  mapping: MetersMapping,
): { kind: "row"; row: ListedMeter } | { kind: "problems"; problems: CellProblem[] } {
  const misread = misreadRecord(record, layout);
  if (misread !== null) return { kind: "problems", problems: [misread] };
  const cells = new InventoryCells(record.fields, layout, mapping);
  const row: ListedMeter = {
    rowNumber: record.number,
    id: newId(),
    eventId: newId(),
    utilityNumber: cells.needed("utilityNumber", 40),
    serial: cells.needed("serial", 40),
    owner: cells.word("owner", owners) ?? "utility",
    maker: cells.needed("maker", 80),
    model: cells.needed("model", 80),
    form: cells.line("form", 8),
    classAmperes: cells.positive("classAmperes"),
    firmware: cells.line("firmware", 40) ?? "",
    program: cells.line("program", 40) ?? "",
    purchasedOn: cells.date("purchasedOn"),
    place: cells.needed("place", 80),
    placedOn: cells.date("placedOn"),
    registerReading: cells.reading("registerReading"),
  };
  return cells.problems.length > 0 ? { kind: "problems", problems: cells.problems } : { kind: "row", row };
}
