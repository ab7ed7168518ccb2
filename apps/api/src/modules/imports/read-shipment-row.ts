import { lineSchema } from "@sealbook/contract/common";
import { makerResultFieldNames, makerResultFields, type ShipmentMapping } from "@sealbook/contract/imports";
import type { ShipmentRow } from "../shipments/shipments.ts";
import { type CellProblem, Cells } from "./cells.ts";
import type { Layout } from "./lay-out-columns.ts";
import { misreadRecord } from "./misread-record.ts";
import { readDate } from "./read-date.ts";
import type { FileRecord } from "./read-records.ts";

/**
 * Reads one record of a maker's list by its mapping: figures to percent registration, the date to ISO 8601. Every cell
 * that cannot be taken is told, not only the first.
 *
 * @param receivedOn when the shipment was received, ISO 8601: no meter of it was bought later
 */
export function readShipmentRow(
  record: FileRecord,
  layout: Layout,
  mapping: ShipmentMapping,
  receivedOn: string,
): { kind: "row"; row: ShipmentRow } | { kind: "problems"; problems: CellProblem[] } {
  const misread = misreadRecord(record, layout);
  if (misread !== null) return { kind: "problems", problems: [misread] };
  const cells = new ShipmentCells(record.fields, layout, mapping);
  const row = {
    serial: cells.serial(),
    utilityNumber: cells.line("utilityNumber"),
    firmware: cells.line("firmware") ?? "",
    program: cells.line("program") ?? "",
    purchasedOn: cells.purchasedOn(receivedOn),
    results: cells.results(),
  };
  const { serial } = row;
  if (cells.problems.length > 0 || serial === null) return { kind: "problems", problems: cells.problems };
  return { kind: "row", row: { ...row, serial } };
}

const longestLine = 40;
const meterLineSchema = lineSchema(longestLine);

const dateLooks: Record<ShipmentMapping["dateOrder"], string> = {
  iso: "2026-03-31",
  "day-month-year": "31.03.2026",
  "month-day-year": "03/31/2026",
};

/** The cells of a row of a maker's list. */
class ShipmentCells extends Cells<ShipmentMapping> {
  serial(): string | null {
    if (this.text("serial") === null) {
      return this.refuse(
        this.layout.of("serial"),
        "serial-missing",
        "The maker's serial is missing; write it as it is on the meter.",
      );
    }
    return this.line("serial");
  }

  /** A line of text that a meter's record can keep, null where there is none. */
  line(field: "serial" | "utilityNumber" | "firmware" | "program"): string | null {
    const text = this.text(field);
    if (text === null || meterLineSchema.safeParse(text).success) return text;
    return this.refuse(
      this.layout.of(field),
      "malformed",
      `This cannot be kept: at most ${longestLine} characters, and no control characters. Write it as it is on the meter.`,
    );
  }

  purchasedOn(receivedOn: string): string | null {
    const column = this.layout.of("purchasedOn");
    const text = this.cell(column);
    if (text === "") return null;
    const { dateOrder } = this.mapping;
    const date = readDate(text, dateOrder);
    if (date === null) {
      return this.refuse(
        column,
        "bad-date",
        `This is no date that exists, written like ${dateLooks[dateOrder]}. Write it so, or change the mapping's order of the date.`,
      );
    }
    const two = (value: number) => String(value).padStart(2, "0");
    const purchasedOn = `${date.year}-${two(date.month)}-${two(date.day)}`;
    if (purchasedOn <= receivedOn) return purchasedOn;
    return this.refuse(
      column,
      "bad-date",
      `This is after ${receivedOn}, when the shipment was received; nothing is bought later than it comes. Correct the date, or change the mapping's order of the date.`,
    );
  }

  results(): ShipmentRow["results"] {
    return makerResultFields.flatMap((field) => {
      const figure = this.figure(this.layout.of(field));
      if (figure === null) return [];
      return [{ label: makerResultFieldNames[field], registrationPercent: figure.registrationPercent }];
    });
  }
}
