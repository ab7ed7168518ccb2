import { importKindNames, listImports } from "@sealbook/contract/imports";
import { Link } from "@tanstack/react-router";
import { paths } from "../../paths.ts";
import { LocalInstant } from "../../trade/local-instant.tsx";
import { PagedTable } from "../../trade/paged-table.tsx";
import { PersonName } from "../../trade/person-name.tsx";
import { TakeInFile } from "../../trade/take-in-file.tsx";
import { Empty } from "../../ui/empty.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { formatCount } from "./format-count.ts";
import { ImportStateMark } from "./import-state-mark.tsx";
import { useMayImport } from "./use-may-import.ts";

/** Files taken in, newest first, and the place to take in a bench's. A maker's list is taken in on its shipment's page. */
export function ImportListPage() {
  const mayRun = useMayImport("meter-tests");
  return (
    <div className="stack">
      <PageHeader
        title="Imports"
        note={
          <>
            Tests that a bench has written to a file, and makers&rsquo; lists of{" "}
            <Link to={paths.shipments()}>shipments</Link>, taken into the book.
          </>
        }
      />
      {mayRun ? (
        <TakeInFile
          into={{ kind: "meter-tests" }}
          label="Take in a bench's file"
          hint="Tests as the bench has written them."
        />
      ) : null}
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
          {
            heading: "What it holds",
            cell: (row) =>
              row.lot === null ? (
                importKindNames[row.kind]
              ) : (
                <>
                  Maker&rsquo;s list of shipment{" "}
                  <Link className="nowrap" to={paths.shipment(row.lot.id)}>
                    {row.lot.number}
                  </Link>
                </>
              ),
            isNarrowHidden: true,
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
          { heading: "Mapping", cell: (row) => row.mapping?.name ?? "–", isMediumHidden: true },
          {
            heading: "Taken in",
            cell: (row) => <LocalInstant instant={row.createdAt} />,
            isNarrowHidden: true,
          },
          { heading: "By", cell: (row) => <PersonName person={row.createdBy} />, isMediumHidden: true },
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
