import { Readable } from "node:stream";
import type { ImportProblem } from "@sealbook/contract/imports";
import { stringify } from "csv-stringify/sync";
import { guardFormula } from "../../platform/formula-guard.ts";
import { reasonsColumn, rowColumn } from "./lay-out-columns.ts";
import type { FileRecord, Separator } from "./read-records.ts";

type PlacedProblem = ImportProblem & { ordinal: number };

/**
 * The rows of a file that were set aside, as CSV: the file's own columns as they stand, then the row's number and the
 * reasons. Mended, it can be sent again: the two columns are passed over, and what guards a spreadsheet from formulas
 * is taken off. Byte order mark and CRLF let a spreadsheet open it as what it is.
 *
 * @param records       the file's records, headings first
 * @param problemsAfter the next problems of the import in the order of the file, at least one row's worth
 * @source RFC 4180
 */
export function writeSetAsideRows({
  records,
  separator,
  problemsAfter,
}: {
  records: AsyncIterable<FileRecord>;
  separator: Separator;
  problemsAfter: (after: { rowNumber: number; ordinal: number } | null) => Promise<PlacedProblem[]>;
}): Readable {
  const write = (cells: readonly string[]) =>
    stringify([cells.map(guardFormula)], { delimiter: separator, record_delimiter: "\r\n" });
  return Readable.from(
    (async function* () {
      const setAside = byRow(problemsAfter);
      let next = await setAside.next();
      let own: number[] | null = null;
      for await (const record of records) {
        if (own === null) {
          own = record.fields.flatMap((heading, index) =>
            [rowColumn, reasonsColumn].includes(heading.trim()) ? [] : [index],
          );
          yield `\uFEFF${write([...own.map((index) => record.fields[index] ?? ""), rowColumn, reasonsColumn])}`;
          continue;
        }
        if (next.done === true) return;
        if (next.value.rowNumber !== record.number) continue;
        const reasons = next.value.problems.map(({ column, detail }) =>
          column === "" ? detail : `${column}: ${detail}`,
        );
        const surplus = record.fields.slice(Math.max(...own) + 1);
        if (surplus.some((cell) => cell !== "") && record.fields.length > own.length) {
          reasons.push(`Cells beyond the last heading: ${surplus.join(" ")}`);
        }
        yield write([
          ...own.map((index) => record.fields[index] ?? ""),
          String(record.number),
          reasons.join(" "),
        ]);
        next = await setAside.next();
      }
    })(),
    { objectMode: false, encoding: "utf8" },
  );
}

/** Problems gathered by row, read page by page. */
async function* byRow(
  problemsAfter: (after: { rowNumber: number; ordinal: number } | null) => Promise<PlacedProblem[]>,
): AsyncGenerator<{ rowNumber: number; problems: PlacedProblem[] }, void> {
  let row: { rowNumber: number; problems: PlacedProblem[] } | null = null;
  let after: { rowNumber: number; ordinal: number } | null = null;
  for (;;) {
    const page = await problemsAfter(after);
    for (const problem of page) {
      if (row !== null && row.rowNumber !== problem.rowNumber) {
        yield row;
        row = null;
      }
      row ??= { rowNumber: problem.rowNumber, problems: [] };
      row.problems.push(problem);
    }
    const last = page.at(-1);
    if (last === undefined) break;
    after = { rowNumber: last.rowNumber, ordinal: last.ordinal };
  }
  if (row !== null) yield row;
}
