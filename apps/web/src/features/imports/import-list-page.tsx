import "./imports.css";
import {
  type ImportKind,
  importKindNames,
  importKindPermissions,
  inventoryKinds,
  listImports,
} from "@sealbook/contract/imports";
import { may } from "@sealbook/contract/permissions";
import { Link } from "@tanstack/react-router";
import { useState } from "react";
import { useAccount } from "../../api/use-account.ts";
import { paths } from "../../paths.ts";
import { LocalInstant } from "../../trade/local-instant.tsx";
import { PagedTable } from "../../trade/paged-table.tsx";
import { PersonName } from "../../trade/person-name.tsx";
import { TakeInFile } from "../../trade/take-in-file.tsx";
import { Empty } from "../../ui/empty.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { Select } from "../../ui/select.tsx";
import { formatCount } from "./format-count.ts";
import { ImportStateMark } from "./import-state-mark.tsx";

/** Files taken in, newest first, and the place to take one in. A maker's list is taken in on its shipment's page. */
export function ImportListPage() {
  const account = useAccount();
  const kinds = takenHere.filter(
    (kind) => may(account.role, "import.run") && may(account.role, importKindPermissions[kind]),
  );
  const [chosen, setChosen] = useState<TakenHere | "">("");
  const kind = chosen === "" ? kinds[0] : chosen;
  return (
    <div className="stack">
      <PageHeader
        title="Imports"
        note={
          <>
            Tests that a bench has written to a file, the inventory of another book, and makers&rsquo; lists
            of <Link to={paths.shipments()}>shipments</Link>, taken into the book.
          </>
        }
      />
      {kind === undefined ? null : (
        <div className="stack-tight">
          <div className="mapping-row">
            <Select
              label="What the file holds"
              value={kind}
              onChange={setChosen}
              options={kinds.map((value) => ({ value, label: importKindNames[value] }))}
            />
          </div>
          <TakeInFile
            key={kind}
            into={{ kind }}
            label={takeInWords[kind].label}
            hint={takeInWords[kind].hint}
          />
        </div>
      )}
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
            {kind !== undefined
              ? "Save a bench's results as CSV and drop the file above."
              : "A technician, quality engineer or supervisor can take one in."}
          </Empty>
        }
      />
    </div>
  );
}

/** Kinds that are taken in on this page; a maker's list belongs to its shipment. */
const takenHere = ["meter-tests", ...inventoryKinds] as const satisfies readonly ImportKind[];
type TakenHere = (typeof takenHere)[number];

const takeInWords: Record<TakenHere, { label: string; hint: string }> = {
  "meter-tests": { label: "Take in a bench's file", hint: "Tests as the bench has written them." },
  "meter-types": { label: "Take in meter types", hint: "One type a row, with its nameplate." },
  "service-points": { label: "Take in service points", hint: "One service point a row, with its address." },
  meters: { label: "Take in meters", hint: "One meter a row: its numbers, its type, and where it is." },
  "meter-events": {
    label: "Take in events of meters",
    hint: "One event a row: which meter, what happened, when, and where it came to be.",
  },
};

/** Counts mean nothing before a row was looked at. */
function countOrNone({ rowsTotal }: { rowsTotal: number | null }, count: number) {
  return rowsTotal === null ? <span className="quiet">–</span> : formatCount(count);
}
