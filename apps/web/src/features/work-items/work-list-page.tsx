import { type DueRow, dueKindNames, listDue } from "@sealbook/contract/due";
import { testReasonNames } from "@sealbook/contract/work-items";
import { Link } from "@tanstack/react-router";
import { useAccount } from "../../api/use-account.ts";
import { useMay } from "../../api/use-may.ts";
import { useShop } from "../../api/use-shop.ts";
import { paths } from "../../paths.ts";
import { PagedTable } from "../../trade/paged-table.tsx";
import { ButtonLink } from "../../ui/button-link.tsx";
import { DateFilter } from "../../ui/date-filter.tsx";
import { Empty } from "../../ui/empty.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { useSearchText } from "../../ui/use-search-text.ts";
import { DueFilters, dueFilterOf } from "./due-filters.tsx";
import { DueMark } from "./due-mark.tsx";
import { TakeWork } from "./take-work.tsx";

/** What falls due in the shop, soonest first: asked tests, samples, periodic tests, standards. */
export function WorkListPage() {
  const [search, change] = useSearchText();
  const { today } = useShop();
  const { id: ownId } = useAccount();
  const mayAsk = useMay("workItem.open");
  const mayTest = useMay("meterTest.record");
  const filter = dueFilterOf(search);
  return (
    <div className="stack">
      <PageHeader
        title="Work"
        note="What falls due, soonest first. Logging a test finishes the work on its meter."
        actions={
          <>
            <ButtonLink to={paths.workCalendar()} search={{ ...filter }}>
              Calendar
            </ButtonLink>
            {mayAsk ? <ButtonLink to={paths.newWork()}>Ask for a test</ButtonLink> : null}
          </>
        }
      />
      <DueFilters search={search} change={change}>
        <DateFilter label="Due from" value={search.from ?? ""} onChange={(from) => change({ from })} />
        <DateFilter label="Due to" value={search.to ?? ""} onChange={(to) => change({ to })} />
      </DueFilters>
      <PagedTable
        operation={listDue}
        input={{ query: { ...filter, from: search.from ?? "", to: search.to ?? "" } }}
        caption="Due work, soonest first"
        noun={["thing due", "things due"]}
        rowKey={(row) => `${row.kind} ${row.id}`}
        columns={[
          {
            heading: "Meter or standard",
            isRowHeader: true,
            isNowrap: true,
            cell: (row) => (
              <Link to={row.meterId === null ? paths.standard(row.id) : paths.meter(row.meterId)}>
                {row.name}
              </Link>
            ),
          },
          { heading: "What", cell: whatIsDue },
          { heading: "Due", cell: (row) => <DueMark dueOn={row.dueOn} today={today} />, isNowrap: true },
          { heading: "Place", cell: (row) => row.place, isNarrowHidden: true },
          { heading: "Note", cell: (row) => row.note, isMediumHidden: true },
          {
            heading: "Taken by",
            cell: (row) => <TakeWork row={row} ownId={ownId} />,
            isNowrap: true,
          },
          ...(mayTest
            ? [
                {
                  heading: "Test",
                  isNowrap: true,
                  cell: (row: DueRow) =>
                    row.meterId === null ? null : (
                      <Link to={paths.logMeter(row.meterId)}>
                        Log it<span className="visually-hidden"> for meter {row.name}</span>
                      </Link>
                    ),
                },
              ]
            : []),
        ]}
        empty={
          <Empty title="Nothing is due.">
            {mayAsk
              ? "Ask for a test when a meter needs one, or take a filter away."
              : "Take a filter away to see more."}
          </Empty>
        }
      />
    </div>
  );
}

function whatIsDue(row: DueRow): string {
  if (row.kind === "asked" && row.reason !== null) return testReasonNames[row.reason];
  return dueKindNames[row.kind];
}
