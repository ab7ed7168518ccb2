import { listImportProblems } from "@sealbook/contract/imports";
import { PagedTable } from "../../trade/paged-table.tsx";
import { Empty } from "../../ui/empty.tsx";

/** Why rows were set aside: where, what stands there, and what to do about it. */
export function RowsSetAside({ importId }: { importId: string }) {
  return (
    <PagedTable
      operation={listImportProblems}
      input={{ params: { id: importId } }}
      caption="Rows set aside"
      noun={["reason", "reasons"]}
      rowKey={({ rowNumber, column, code, detail }) => `${rowNumber} ${column} ${code} ${detail}`}
      columns={[
        {
          heading: "Row",
          isRowHeader: true,
          isNumeric: true,
          cell: ({ rowNumber }) => rowNumber,
        },
        {
          heading: "Column",
          isNowrap: true,
          isNarrowHidden: true,
          cell: ({ column }) => (column === "" ? <span className="quiet">whole row</span> : column),
        },
        {
          heading: "Value",
          isNarrowHidden: true,
          cell: ({ value }) =>
            value === "" ? <span className="quiet">–</span> : <span className="cell-value">{value}</span>,
        },
        {
          heading: "Reason",
          cell: ({ column, value, detail }) => (
            <>
              {column === "" ? null : (
                <div className="reason-place">
                  {column}: {value === "" ? "empty" : value}
                </div>
              )}
              {detail}
            </>
          ),
        },
      ]}
      empty={<Empty title="No row is set aside." />}
    />
  );
}
