import { ledgerActions, listLedger } from "@sealbook/contract/ledger";
import { listPeople } from "@sealbook/contract/people";
import { useQuery } from "@tanstack/react-query";
import { Link } from "@tanstack/react-router";
import { wholeListOptions } from "../../api/operation-options.ts";
import { paths } from "../../paths.ts";
import { LocalInstant } from "../../trade/local-instant.tsx";
import { PagedTable } from "../../trade/paged-table.tsx";
import { PersonName } from "../../trade/person-name.tsx";
import { Button } from "../../ui/button.tsx";
import { ButtonLink } from "../../ui/button-link.tsx";
import { DateFilter } from "../../ui/date-filter.tsx";
import { Empty } from "../../ui/empty.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { SearchFilter } from "../../ui/search-filter.tsx";
import { Select } from "../../ui/select.tsx";
import { useSearchText } from "../../ui/use-search-text.ts";
import { actionName, actionNames } from "./action-names.ts";
import { dateIn } from "./date-in.ts";
import { SubjectLink } from "./subject-link.tsx";

/** The ledger: every change ever made, newest first. Nothing in it is edited or taken away. */
export function LedgerPage() {
  const [search, change] = useSearchText();
  const people = useQuery(wholeListOptions(listPeople, { query: {} }));
  const action = search.action ?? "";
  const actorId = search.actorId ?? "";
  const subjectId = search.subjectId ?? "";
  const from = dateIn(search.from);
  const to = dateIn(search.to);
  const isFiltered =
    action !== "" || actorId !== "" || subjectId !== "" || from !== undefined || to !== undefined;
  return (
    <div className="stack">
      <PageHeader
        title="Ledger"
        note="Every change, who made it and why. Nothing in it is edited or taken away."
        actions={
          <>
            {isFiltered ? (
              <Button onClick={() => change({ action: "", actorId: "", subjectId: "", from: "", to: "" })}>
                Show everything
              </Button>
            ) : null}
            <ButtonLink to={paths.looks()}>What regulators looked at</ButtonLink>
          </>
        }
      />
      <div className="row-fields">
        <Select
          label="What was done"
          value={action}
          onChange={(next) => change({ action: next })}
          placeholder="Anything"
          options={ledgerActions.map((one) => ({ value: one, label: actionNames[one] }))}
        />
        <Select
          label="By whom"
          value={actorId}
          onChange={(next) => change({ actorId: next })}
          placeholder="Anybody"
          error={people.error?.message}
          options={(people.data?.rows ?? []).map((person) => ({ value: person.id, label: person.name }))}
        />
        <DateFilter
          key={`from ${search.from === undefined}`}
          label="From"
          value={search.from ?? ""}
          onChange={(next) => change({ from: next })}
        />
        <DateFilter
          key={`to ${search.to === undefined}`}
          label="To"
          value={search.to ?? ""}
          onChange={(next) => change({ to: next })}
        />
        <SearchFilter
          label="Record"
          placeholder="id of the record"
          value={subjectId}
          onChange={(next) => change({ subjectId: next })}
        />
      </div>
      <PagedTable
        operation={listLedger}
        input={{ query: { action, subjectId, actorId: actorId === "" ? undefined : actorId, from, to } }}
        caption="Ledger entries, newest first"
        noun={["entry", "entries"]}
        rowKey={(entry) => entry.id}
        columns={[
          {
            heading: "At",
            isRowHeader: true,
            isNowrap: true,
            cell: (entry) => (
              <Link to={paths.ledgerEntry(entry.id)}>
                <LocalInstant instant={entry.at} />
              </Link>
            ),
          },
          { heading: "What was done", cell: (entry) => actionName(entry.action) },
          { heading: "By", cell: (entry) => <PersonName person={entry.actor} /> },
          {
            heading: "Record",
            cell: (entry) => <SubjectLink entry={entry} />,
            isNarrowHidden: true,
          },
          { heading: "Reason", cell: (entry) => entry.reason ?? "", isNarrowHidden: true },
          {
            heading: "Hash",
            cell: (entry) => <code>{entry.hash.slice(0, 12)}…</code>,
            isNowrap: true,
            isNarrowHidden: true,
          },
        ]}
        empty={
          isFiltered ? (
            <Empty title="No entry matches.">Take a filter away to see more.</Empty>
          ) : (
            <Empty title="Nothing has been recorded yet." />
          )
        }
      />
    </div>
  );
}
