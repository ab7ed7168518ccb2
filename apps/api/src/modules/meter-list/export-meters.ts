import { Readable } from "node:stream";
import {
  type ExportColumn,
  type ExportFormat,
  exportColumnNames,
  exportColumns,
  type MeterFilter,
  type MeterOrder,
} from "@sealbook/contract/meter-list";
import { meterStateNames, verdictNames } from "@sealbook/contract/meters";
import { type CellValue, writeXlsxStream, XLSX_MAX_ROWS_PER_SHEET } from "hucre/xlsx";
import type { Logger } from "pino";
import { csvCells } from "../../platform/csv-line.ts";
import { cursorRows } from "../../platform/cursor-rows.ts";
import type { Database } from "../../platform/database.ts";
import { writeEntry } from "../../platform/ledger.ts";
import { ProblemError } from "../../platform/problem-error.ts";
import { reading } from "../../platform/reading.ts";
import { type Actor, inTransaction, newId } from "../../platform/transaction.ts";
import { termsOf } from "./meter-list.ts";
import { countMetersTo, type ExportedRow, type ExportRow, exportSql, toExportRow } from "./store.ts";

/** A cell before it is written: text, a decimal as it stands, a calendar date. */
type Cell = { text: string } | { decimal: string } | { date: string } | null;

const owners = { utility: "Utility", customer: "Customer" } as const;

const cells: Record<ExportColumn, (row: ExportRow) => Cell> = {
  utilityNumber: (row) => ({ text: row.utilityNumber }),
  serial: (row) => ({ text: row.serial }),
  maker: (row) => ({ text: row.maker }),
  model: (row) => ({ text: row.model }),
  form: (row) => ({ text: row.form }),
  owner: (row) => ({ text: owners[row.owner] }),
  state: (row) => ({ text: meterStateNames[row.state] }),
  place: (row) => ({ text: row.place }),
  setOn: (row) => (row.setOn === null ? null : { date: row.setOn }),
  lastTestOn: (row) => (row.lastTestOn === null ? null : { date: row.lastTestOn }),
  lastVerdict: (row) => (row.lastVerdict === null ? null : { text: verdictNames[row.lastVerdict] }),
  dueOn: (row) => (row.dueOn === null ? null : { date: row.dueOn }),
  classAmperes: (row) => ({ decimal: row.classAmperes }),
  kh: (row) => ({ decimal: row.kh }),
  area: (row) => (row.area === null ? null : { text: row.area }),
  lastAveragePercent: (row) => (row.lastAveragePercent === null ? null : { decimal: row.lastAveragePercent }),
  lastAverageErrorPercent: (row) =>
    row.lastAverageErrorPercent === null ? null : { decimal: row.lastAverageErrorPercent },
};

/** At most so many files are made at once in a process: each holds a connection while it is taken. */
const mostAtOnce = 2;
let underWay = 0;

export interface MetersFile {
  readonly name: string;
  readonly mediaType: string;
  readonly stream: Readable;
}

/**
 * The filtered meters as a file, made while it is taken. The ledger says who begins to take what before the first byte
 * leaves, and how many rows left at the end, cut short or whole.
 *
 * @throws ProblemError too-many-requests when enough files are being made already; too-large when the rows do not fit
 *   one sheet
 */
export async function exportMeters({
  database,
  actor,
  log,
  query,
}: {
  database: Database;
  actor: Actor;
  log: Pick<Logger, "error">;
  query: MeterFilter & { order: MeterOrder; format: ExportFormat; columns?: string | undefined };
}): Promise<MetersFile> {
  const { columns: wanted, format, order, ...filter } = query;
  const columns = wanted === undefined ? exportColumns : (wanted.split(",") as ExportColumn[]);
  if (underWay >= mostAtOnce) {
    throw new ProblemError(
      "too-many-requests",
      "Other lists are being taken out at this moment; try again in a minute.",
    );
  }
  underWay += 1;
  try {
    const terms = await termsOf(reading(database), filter);
    if (
      format === "xlsx" &&
      (await countMetersTo(reading(database), terms, XLSX_MAX_ROWS_PER_SHEET)) >= XLSX_MAX_ROWS_PER_SHEET
    ) {
      throw new ProblemError(
        "too-large",
        "A sheet holds 1,048,575 meters and this list has more: add a filter, or take it as CSV.",
      );
    }
    const id = newId();
    await inTransaction(database.pool, actor, (tx) =>
      writeEntry(tx, {
        action: "meterList.take",
        subjectType: "meterList",
        subjectId: id,
        payload: { filter, order, format, columns: [...columns] },
      }),
    );
    let rows = 0;
    const end = (whole: boolean) =>
      inTransaction(database.pool, actor, (tx) =>
        writeEntry(tx, {
          action: "meterList.taken",
          subjectType: "meterList",
          subjectId: id,
          payload: { rows, whole },
        }),
      );
    let isEntered = false;
    const taken = async function* (): AsyncGenerator<Cell[], void> {
      for await (const row of cursorRows<ExportedRow>(database.pool, exportSql(terms, order))) {
        const shown = toExportRow(row, terms.timeZone);
        yield columns.map((column) => cells[column](shown));
        rows += 1;
      }
      // Written before the file's own end leaves: whoever holds a whole file finds it in the ledger.
      await end(true);
      isEntered = true;
    };
    const headings = columns.map((column) => exportColumnNames[column]);
    const stream =
      format === "xlsx"
        ? writeSheet(headings, taken())
        : writeCsv(headings, taken(), format === "csv-with-mark");
    stream.once("close", () => {
      underWay -= 1;
      if (isEntered) return;
      end(false).catch((error: unknown) =>
        log.error({ err: error, export: id }, "could not record the end of an export"),
      );
    });
    return {
      name: `meters-${terms.today}.${format === "xlsx" ? "xlsx" : "csv"}`,
      mediaType:
        format === "xlsx"
          ? "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
          : "text/csv; charset=utf-8; header=present",
      stream,
    };
  } catch (error) {
    underWay -= 1;
    throw error;
  }
}

/** Lines of CSV, gathered into pieces of some kilobytes. */
function writeCsv(headings: readonly string[], rows: AsyncIterable<Cell[]>, hasMark: boolean): Readable {
  return Readable.from(
    (async function* () {
      let piece = `${hasMark ? "\uFEFF" : ""}${csvCells(headings.map((text) => ({ text })))}`;
      for await (const row of rows) {
        piece += csvCells(
          row.map((cell) => {
            if (cell === null) return { bare: "" };
            if ("text" in cell) return cell;
            return { bare: "decimal" in cell ? cell.decimal : cell.date };
          }),
        );
        if (piece.length < 32_768) continue;
        yield piece;
        piece = "";
      }
      yield piece;
    })(),
    { objectMode: false, encoding: "utf8", highWaterMark: 65_536 },
  );
}

/** One sheet: text as text, so that leading zeros stay and nothing is run as a formula; numbers and dates as themselves. */
function writeSheet(headings: readonly string[], rows: AsyncIterable<Cell[]>): Readable {
  const lines = async function* (): AsyncGenerator<CellValue[], void> {
    yield [...headings];
    for await (const row of rows) {
      yield row.map((cell) => {
        if (cell === null) return null;
        if ("text" in cell) return cell.text;
        return "decimal" in cell ? Number(cell.decimal) : new Date(`${cell.date}T00:00:00Z`);
      });
    }
  };
  const sheet = writeXlsxStream(lines(), { name: "Meters", freezePane: { rows: 1 } });
  return Readable.fromWeb(sheet as Parameters<typeof Readable.fromWeb>[0]);
}
