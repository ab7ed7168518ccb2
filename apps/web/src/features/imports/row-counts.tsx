import type { Import } from "@sealbook/contract/imports";
import { DataTable } from "../../ui/data-table.tsx";
import { StatusMark } from "../../ui/status-mark.tsx";
import { formatCount } from "./format-count.ts";

/** What became of the rows, as counts under each other. */
export function RowCounts({
  of,
  word = "Good",
  good,
}: {
  of: Import;
  word?: string;
  /** What the count of good rows means now. */
  good: string;
}) {
  const rows = [
    { tone: "good" as const, word, count: of.rowsGood, says: good },
    {
      tone: "neutral" as const,
      word: "Already in the book",
      count: of.rowsAlready,
      says: "left as they are",
    },
    { tone: "warn" as const, word: "Set aside", count: of.rowsBad, says: "each with its reason" },
  ];
  return (
    <div className="row-counts">
      <DataTable
        caption="What became of the rows"
        rows={rows}
        rowKey={({ word }) => word}
        columns={[
          {
            heading: "Rows",
            isRowHeader: true,
            cell: ({ tone, word }) => <StatusMark tone={tone}>{word}</StatusMark>,
          },
          { heading: "Count", isNumeric: true, cell: ({ count }) => formatCount(count) },
          {
            heading: "What it means",
            cell: ({ count, says }) => <span className="quiet">{count === 0 ? "" : says}</span>,
          },
        ]}
      />
    </div>
  );
}
