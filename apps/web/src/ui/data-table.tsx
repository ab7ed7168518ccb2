import "./data-table.css";
import type { ReactNode } from "react";
import { AlignedDecimal } from "./aligned-decimal.tsx";
import { mostPlaces } from "./most-places.ts";

interface ColumnLook {
  heading: string;
  /** The whole word, where the heading is short for it. */
  isShortFor?: string;
  /** The column that names the row to assistive technology. */
  isRowHeader?: boolean;
  /** Left out on narrow screens, below 640 px. */
  isNarrowHidden?: boolean;
  /** Left out below 1000 px already. */
  isMediumHidden?: boolean;
  /** Left out below 1400 px already. */
  isWideOnly?: boolean;
  isNowrap?: boolean;
}

/** One column of a table: whatever a cell holds, or decimals that line up on the point. */
export type Column<Row> =
  | (ColumnLook & {
      cell: (row: Row) => ReactNode;
      /** Numerals stand to the right, in tabular figures. */
      isNumeric?: boolean;
    })
  | (ColumnLook & {
      /** The decimal as it stands; null is a dash. */
      decimal: (row: Row) => string | null;
    });

function cellsOf<Row>(column: Column<Row>, rows: readonly Row[]): (row: Row) => ReactNode {
  if ("cell" in column) return column.cell;
  const places = mostPlaces(rows.map(column.decimal));
  return (row) => {
    const text = column.decimal(row);
    return text === null ? <span className="quiet">–</span> : <AlignedDecimal text={text} places={places} />;
  };
}

function classOf<Row>(column: Column<Row>): string | undefined {
  const names = [
    "decimal" in column || column.isNumeric === true ? "numeric" : null,
    column.isNowrap === true ? "nowrap" : null,
    column.isNarrowHidden === true ? "narrow-hidden" : null,
    column.isMediumHidden === true ? "medium-hidden" : null,
    column.isWideOnly === true ? "wide-only" : null,
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
  columns: readonly Column<NoInfer<Row>>[];
  rows: readonly Row[];
  rowKey: (row: Row) => string;
  /** Rows that step back, such as superseded records. */
  isQuiet?: (row: Row) => boolean;
}) {
  const drawn = columns.map((column) => ({
    column,
    className: classOf(column),
    cell: cellsOf(column, rows),
  }));
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: a region that scrolls must be reachable by keyboard.
    <section className="table-region" aria-label={caption} tabIndex={0}>
      <table className="table">
        <caption className={isCaptionHidden ? "visually-hidden" : undefined}>{caption}</caption>
        <thead>
          <tr>
            {drawn.map(({ column, className }) => (
              <th key={column.heading} scope="col" className={className}>
                {column.isShortFor === undefined ? (
                  column.heading
                ) : (
                  <abbr title={column.isShortFor}>{column.heading}</abbr>
                )}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {rows.map((row) => (
            <tr key={rowKey(row)} data-quiet={isQuiet?.(row) === true ? "true" : undefined}>
              {drawn.map(({ column, className, cell }) =>
                column.isRowHeader === true ? (
                  <th key={column.heading} scope="row" className={className}>
                    {cell(row)}
                  </th>
                ) : (
                  <td key={column.heading} className={className}>
                    {cell(row)}
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
