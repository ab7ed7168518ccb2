import { listImports } from "@sealbook/contract/imports";
import { Link } from "@tanstack/react-router";
import { useMay } from "../../api/use-may.ts";
import { paths } from "../../paths.ts";
import { LocalInstant } from "../../trade/local-instant.tsx";
import { PagedTable } from "../../trade/paged-table.tsx";
import { PersonName } from "../../trade/person-name.tsx";
import { Empty } from "../../ui/empty.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { formatCount } from "./format-count.ts";
import { ImportStateMark } from "./import-state-mark.tsx";
import { TakeInFile } from "./take-in-file.tsx";

/** Files from benches: those taken in, newest first, and the place to take in another. */
export function ImportListPage() {
  const mayRun = useMay("import.run");
  return (
    <div className="stack">
      <PageHeader title="Imports" note="Tests that a bench has written to a file, taken into the book." />
      {mayRun ? <TakeInFile /> : null}
      <PagedTable
        operation={listImports}
        input={{}}
        caption="Imports, newest first"
        noun={["import", "imports"]}
        rowKey={(row) => row.id}
        columns={[
          {
            heading: "File",
            isRowHeader: true,
            cell: (row) => <Link to={paths.import(row.id)}>{row.file.name}</Link>,
          },
          { heading: "State", cell: (row) => <ImportStateMark state={row.state} /> },
          { heading: "Good", cell: (row) => countOrNone(row, row.rowsGood), isNumeric: true },
          {
            heading: "Already in the book",
            cell: (row) => countOrNone(row, row.rowsAlready),
            isNumeric: true,
            isNarrowHidden: true,
          },
          { heading: "Set aside", cell: (row) => countOrNone(row, row.rowsBad), isNumeric: true },
          { heading: "Mapping", cell: (row) => row.mapping?.name ?? "–", isNarrowHidden: true },
          {
            heading: "Taken in",
            cell: (row) => <LocalInstant instant={row.createdAt} />,
            isNarrowHidden: true,
          },
          { heading: "By", cell: (row) => <PersonName person={row.createdBy} />, isNarrowHidden: true },
        ]}
        empty={
          <Empty title="No file has been taken in yet.">
            {mayRun
              ? "Save a bench's results as CSV and drop the file above."
              : "A technician, quality engineer or supervisor can take one in."}
          </Empty>
        }
      />
    </div>
  );
}

/** Counts mean nothing before a row was looked at. */
function countOrNone({ rowsTotal }: { rowsTotal: number | null }, count: number) {
  return rowsTotal === null ? <span className="quiet">–</span> : formatCount(count);
}
