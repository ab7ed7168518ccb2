import type { ReportBody } from "@sealbook/contract/reports";
import { type CellValue, writeXlsx } from "hucre/xlsx";
import { csvCells } from "../../platform/csv-line.ts";
import { cellText, type ReportCell, reportTables } from "./report-tables.ts";

/** A report as CSV: one figure a line, with the table, the row and the column that it stands in. */
export function reportCsv(body: ReportBody): string {
  const lines = [csvCells(["table", "row", "column", "value"].map((bare) => ({ bare })))];
  for (const { name, headings, rows } of reportTables(body)) {
    for (const [place, row] of rows.entries()) {
      for (const [column, cell] of row.entries()) {
        lines.push(
          csvCells([
            { text: name },
            { bare: String(place + 1) },
            { text: headings[column] ?? "" },
            cell.kind === "text" ? { text: cell.text } : { bare: plainText(cell) },
          ]),
        );
      }
    }
  }
  return lines.join("");
}

/** A report as a spreadsheet: a sheet a table, numbers as numbers and dates as dates. */
export async function reportSheet(body: ReportBody): Promise<Uint8Array> {
  const particulars: CellValue[][] = [
    ["Report", body.title],
    ["Shop", body.shop],
    ["Period", `${body.period.from} to ${body.period.to}`],
    ["Place", body.place?.name ?? "Every place"],
    ["Rules", `${body.profile.title} (${body.profile.key}, version ${body.profile.version})`],
    ["Accuracy bands", `${body.layout.title} (${body.layout.key}, version ${body.layout.version})`],
    ["Source of the bands", body.summary.layout.source],
    ["Edition", body.edition],
    ["Recorded up to", body.cutoff],
    ["Records of tests", body.manifest.tests],
    ["Root of the manifest", body.manifest.root ?? "none: a draft"],
    ["Caution", body.caution],
  ];
  return await writeXlsx({
    sheets: [
      { name: "Report", rows: particulars, columns: [{ width: 24 }, { width: 90 }] },
      ...reportTables(body).map(({ name, headings, rows }) => ({
        name,
        rows: [[...headings], ...rows.map((row) => row.map(cellValue))],
        columns: headings.map((heading, column) => ({
          width: Math.min(
            60,
            2 + Math.max(heading.length, ...rows.map((row) => plainText(row[column]).length), 6),
          ),
        })),
        freezePane: { rows: 1, columns: 1 },
      })),
    ],
  });
}

function plainText(cell: ReportCell | undefined): string {
  if (cell === undefined) return "";
  if ((cell.kind === "decimal" && cell.decimal === null) || (cell.kind === "date" && cell.date === null))
    return "";
  return cellText(cell);
}

function cellValue(cell: ReportCell): CellValue {
  switch (cell.kind) {
    case "text":
      return cell.text === "" ? null : cell.text;
    case "count":
      return cell.count;
    case "decimal":
      return cell.decimal === null ? null : Number(cell.decimal);
    case "date":
      return cell.date === null ? null : new Date(`${cell.date}T00:00:00Z`);
  }
}
