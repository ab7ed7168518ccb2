import { type GroupYear, listGroupYears } from "@sealbook/contract/groups";
import { samplingCharacteristicNames } from "@sealbook/metrology/sampling/decision/sampling-scheme";
import { Link } from "@tanstack/react-router";
import { paths } from "../../paths.ts";
import { OutcomeMark } from "../../trade/lots/outcome-mark.tsx";
import { PagedTable } from "../../trade/paged-table.tsx";
import { Empty } from "../../ui/empty.tsx";
import { changeText } from "./change-text.ts";

/** Mean, spread and percent nonconforming of each series, year against year, with their yearly change. */
export function GroupYears({ filter }: { filter: { series?: string; schemeCode?: string } }) {
  return (
    <div className="stack-tight">
      <PagedTable
        operation={listGroupYears}
        input={{ query: filter }}
        caption="Groups by series, characteristic and year"
        noun={["line", "lines"]}
        rowKey={(row) => `${row.lotId} ${row.characteristic}`}
        columns={[
          ...(filter.series === undefined
            ? [{ heading: "Group", isRowHeader: true, cell: (row: GroupYear) => row.title }]
            : []),
          {
            heading: "At",
            cell: (row) => samplingCharacteristicNames[row.characteristic],
            isNowrap: true,
          },
          {
            heading: "Year",
            cell: (row) => <Link to={paths.group(row.lotId)}>{row.year}</Link>,
            isNumeric: true,
          },
          { heading: "Meters", cell: (row) => row.lotSize, isNumeric: true, isMediumHidden: true },
          { heading: "n", cell: (row) => row.n, isNumeric: true },
          { heading: "Mean %", cell: (row) => placed(row.mean), isNumeric: true },
          {
            heading: "Change a year",
            cell: (row) => changeText(row.change?.mean ?? null, 3),
            isNumeric: true,
          },
          { heading: "s %", cell: (row) => placed(row.s), isNumeric: true },
          {
            heading: "Change of s",
            cell: (row) => changeText(row.change?.s ?? null, 3),
            isNumeric: true,
            isMediumHidden: true,
          },
          {
            heading: "Nonconforming %",
            cell: (row) => (
              <>
                {row.percentNonconforming.toFixed(3)}
                <span className="visually-hidden">{row.estimated ? ", estimated" : ", counted"}</span>
              </>
            ),
            isNumeric: true,
          },
          {
            heading: "Change of it",
            cell: (row) => changeText(row.change?.percentNonconforming ?? null, 3),
            isNumeric: true,
            isMediumHidden: true,
          },
          { heading: "By", cell: (row) => (row.estimated ? "estimate" : "count"), isMediumHidden: true },
          { heading: "Of the whole lot", cell: (row) => <OutcomeMark outcome={row.outcome} /> },
        ]}
        empty={<Empty title="No group has been decided yet." />}
      />
      <p className="quiet small">
        A change is the difference from the decision before, divided by the years between.
      </p>
    </div>
  );
}

function placed(value: number | null): string {
  return value === null ? "–" : value.toFixed(3);
}
