import "./data-table.css";
import type { ReactNode } from "react";

/** One column of a table. */
export interface Column<Row> {
  heading: string;
  cell: (row: Row) => ReactNode;
  /** Numerals stand to the right, in tabular figures. */
  isNumeric?: boolean;
  /** The column that names the row to assistive technology. */
  isRowHeader?: boolean;
  /** Left out on narrow screens. */
  isNarrowHidden?: boolean;
  isNowrap?: boolean;
}

function classOf<Row>(column: Column<Row>): string | undefined {
  const names = [
    column.isNumeric === true ? "numeric" : null,
    column.isNowrap === true ? "nowrap" : null,
    column.isNarrowHidden === true ? "narrow-hidden" : null,
  ].filter((name) => name !== null);
  return names.length === 0 ? undefined : names.join(" ");
}

/** A dense table of records. It scrolls sideways inside itself where the screen is narrower. */
export function DataTable<Row>({
  caption,
  isCaptionHidden = true,
  columns,
  rows,
  rowKey,
  isQuiet,
}: {
  /** What the table lists; read by assistive technology, seen unless hidden. */
  caption: string;
  isCaptionHidden?: boolean;
  columns: readonly Column<Row>[];
  rows: readonly Row[];
  rowKey: (row: Row) => string;
  /** Rows that step back, such as superseded records. */
  isQuiet?: (row: Row) => boolean;
}) {
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: a region that scrolls must be reachable by keyboard.
    <section className="table-region" aria-label={caption} tabIndex={0}>
      <table className="table">
        <caption className={isCaptionHidden ? "visually-hidden" : undefined}>{caption}</caption>
        <thead>
          <tr>
            {columns.map((column) => (
              <th key={column.heading} scope="col" className={classOf(column)}>
                {column.heading}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {rows.map((row) => (
            <tr key={rowKey(row)} data-quiet={isQuiet?.(row) === true ? "true" : undefined}>
              {columns.map((column) =>
                column.isRowHeader === true ? (
                  <th key={column.heading} scope="row" className={classOf(column)}>
                    {column.cell(row)}
                  </th>
                ) : (
                  <td key={column.heading} className={classOf(column)}>
                    {column.cell(row)}
                  </td>
                ),
              )}
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}
