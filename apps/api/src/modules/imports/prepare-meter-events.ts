import type { InventoryField, MeterEventsMapping } from "@sealbook/contract/imports";
import { readingNoteNames } from "@sealbook/contract/meter-events";
import { meterEventNames } from "@sealbook/contract/meters";
import { type LifeEventKind, legalMoves, stateWords } from "@sealbook/metrology/life-cycle/legal-moves";
import type { ReadingNote } from "@sealbook/metrology/life-cycle/reading-question";
import { newId, type Tx } from "../../platform/transaction.ts";
import {
  type EventFault,
  judgeListedEvents,
  type ListedEvent,
  type ListedEventFault,
} from "../meters/meters.ts";
import { InventoryCells } from "./inventory-cells.ts";
import { misreadRecord } from "./misread-record.ts";
import type { PreparedRows, RowSource } from "./prepared-rows.ts";
import { readDateTime } from "./read-date-time.ts";
import { headingOf, inOrder, type ReadRow, readListed } from "./read-listed.ts";
import type { FileRecord } from "./read-records.ts";
import { writeRowsEntry } from "./write-rows-entry.ts";

/** Reads the rows of a list of events and asks the book what becomes of each. */
export async function prepareMeterEvents(
  tx: Tx,
  source: RowSource<MeterEventsMapping>,
  records: readonly FileRecord[],
): Promise<PreparedRows> {
  const { layout } = source;
  const { rows, problems } = await readListed(
    tx,
    source,
    records,
    (record) => readEventRow(record, source),
    ({ utilityNumber, serial, maker, kind, performedAt }) => [
      {
        field: "eventKind",
        text: [utilityNumber ?? "", serial ?? "", maker ?? "", kind, performedAt.toISOString()].join(" "),
      },
    ],
  );
  const { good, already, faults, add } = await judgeListedEvents(tx, rows, {
    isDryRun: source.seen !== null,
  });
  const byRow = new Map(faults.length === 0 ? [] : rows.map((row) => [row.rowNumber, row]));
  for (const fault of faults) {
    const row = byRow.get(fault.rowNumber);
    if (row === undefined) continue;
    const { field, value, detail } = sentences[fault.fault](row, fault);
    problems.push({
      rowNumber: fault.rowNumber,
      column: headingOf(layout, field),
      value,
      code: fault.fault,
      detail,
    });
  }
  return {
    good,
    already,
    problems: inOrder(problems),
    putIn: async () => add(await writeRowsEntry(tx, source, records, good)),
  };
}

const { "take-back": _, ...kindNames } = meterEventNames;

function readEventRow(
  record: FileRecord,
  { layout, mapping }: Pick<RowSource<MeterEventsMapping>, "layout" | "mapping">,
): ReadRow<ListedEvent> {
  const misread = misreadRecord(record, layout);
  if (misread !== null) return { kind: "problems", problems: [misread] };
  const cells = new EventCells(record.fields, layout, mapping);
  const { utilityNumber, serial } = cells.meter();
  const kind = cells.kind();
  const performedAt = cells.performedAt();
  const row = {
    rowNumber: record.number,
    id: newId(),
    utilityNumber,
    serial,
    maker: cells.line("maker", 80),
    place: cells.line("place", 80),
    registerReading: cells.reading("registerReading"),
    readingNote: cells.word<ReadingNote>("readingNote", readingNoteNames),
    sealsOn: cells.seals("sealsOn"),
    sealsOff: cells.seals("sealsOff"),
    reason: cells.line("eventReason", 500) ?? "",
  };
  if (cells.problems.length > 0 || kind === null || performedAt === null) {
    return { kind: "problems", problems: cells.problems };
  }
  return { kind: "row", row: { ...row, kind, performedAt } };
}

/** The cells of a row of events. */
class EventCells extends InventoryCells<MeterEventsMapping> {
  meter(): { utilityNumber: string | null; serial: string | null } {
    const utilityNumber = this.line("utilityNumber", 40);
    const serial = this.line("serial", 40);
    if (this.text("utilityNumber") === null && this.text("serial") === null) {
      this.refuse(
        this.layout.of("utilityNumber") ?? this.layout.of("serial"),
        "meter-missing",
        "The meter's number is missing; write it as it is on the meter.",
      );
    }
    return { utilityNumber, serial };
  }

  kind(): LifeEventKind | null {
    const kind = this.word<LifeEventKind>("eventKind", kindNames);
    if (kind !== null || this.text("eventKind") !== null) return kind;
    return this.refuse(this.layout.of("eventKind"), "missing", "Say what happened to the meter.");
  }

  performedAt(): Date | null {
    const both = this.layout.of("performedAt");
    const date = this.layout.of("performedDate");
    const text =
      both === null ? `${this.cell(date)} ${this.cell(this.layout.of("performedTime"))}` : this.cell(both);
    const read = readDateTime(text.trim(), this.mapping.dateOrder, this.mapping.timeZone);
    if (read.kind === "instant") return read.at;
    const column = read.code === "time-missing" ? this.layout.of("performedTime") : date;
    this.problems.push({
      column: (both ?? column)?.heading ?? "",
      value: text.trim(),
      code: read.code,
      detail: read.detail,
    });
    return null;
  }
}

/** What the reading of a row is held against stands beside it in the book, or in the file before or after it. */
function ofReading(detail: string): Sentence {
  return ({ registerReading }) => ({ field: "registerReading", value: registerReading ?? "", detail });
}

type Sentence = (
  row: ListedEvent,
  fault: ListedEventFault,
) => { field: InventoryField; value: string; detail: string };

function ofMeter(detail: string): Sentence {
  return ({ utilityNumber, serial }) =>
    utilityNumber === null
      ? { field: "serial", value: serial ?? "", detail }
      : { field: "utilityNumber", value: utilityNumber, detail };
}

function ofPlace(detail: string): Sentence {
  return ({ place }) => ({ field: "place", value: place ?? "", detail });
}

const sentences: Record<EventFault, Sentence> = {
  "unknown-meter": ofMeter(
    "No meter is on record by this number. Take the meter in first, or correct the row.",
  ),
  "ambiguous-meter": ofMeter(
    "Several meters answer to this. Give utility number, serial and maker in columns of their own.",
  ),
  "in-future": ({ performedAt }) => ({
    field: "performedAt",
    value: performedAt.toISOString(),
    detail: "This lies in the future. Correct the date, or change the mapping's order of the date.",
  }),
  "place-missing": ofPlace("The place is missing; write where the meter came to be."),
  "unknown-place": ofPlace(
    "No place and no service point is on record by this name. Add it first, or correct the row.",
  ),
  "ambiguous-place": ofPlace("Several places have this name. Rename one of them, or correct the row."),
  "wrong-place": ({ place, kind }) => ({
    field: "place",
    value: place ?? "",
    detail: `"${meterEventNames[kind]}" does not lead to a place of this kind. Correct the place, or what happened.`,
  }),
  held: ofMeter("The meter is under a legal hold and may not be touched. Have the hold lifted first."),
  illegal: ({ kind }, { stateBefore }) => ({
    field: "eventKind",
    value: kind,
    detail: `The meter was ${stateWords[stateBefore]} then; ${legalMoves[kind].only}. Correct the row, or take in what is missing before it.`,
  }),
  "breaks-later": ({ kind }) => ({
    field: "eventKind",
    value: kind,
    detail:
      "A later event of this meter would not be possible after this one. Correct that one first, or correct the row.",
  }),
  "reading-too-long": ofReading(
    "This has more digits than the meter's register has dials. Correct the reading.",
  ),
  "reading-lower": ofReading(
    'This is lower than the meter\'s reading before it. Say in a column "rolled-over" or "register-replaced", or correct the reading.',
  ),
  "reading-higher": ofReading(
    "This is higher than the meter's reading after it. Correct the reading, or the date.",
  ),
};
