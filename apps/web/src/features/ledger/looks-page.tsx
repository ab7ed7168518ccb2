import { listLooks } from "@sealbook/contract/ledger";
import { listPeople } from "@sealbook/contract/people";
import { useQuery } from "@tanstack/react-query";
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
import { Select } from "../../ui/select.tsx";
import { StatusMark } from "../../ui/status-mark.tsx";
import { useSearchText } from "../../ui/use-search-text.ts";
import { dateIn } from "./date-in.ts";

/** What regulators asked for, newest first: each request, answered or refused. */
export function LooksPage() {
  const [search, change] = useSearchText();
  const regulators = useQuery(wholeListOptions(listPeople, { query: { role: "regulator" } }));
  const actorId = search.actorId ?? "";
  const from = dateIn(search.from);
  const to = dateIn(search.to);
  const isFiltered = actorId !== "" || from !== undefined || to !== undefined;
  return (
    <div className="stack">
      <PageHeader
        title="What regulators looked at"
        note="Every request of a regulator is recorded before it is answered; one that was refused is, too."
        actions={
          <>
            {isFiltered ? (
              <Button onClick={() => change({ actorId: "", from: "", to: "" })}>Show everything</Button>
            ) : null}
            <ButtonLink to={paths.ledger()}>Ledger</ButtonLink>
          </>
        }
      />
      <div className="row-fields">
        <Select
          label="By whom"
          value={actorId}
          onChange={(next) => change({ actorId: next })}
          placeholder="Anybody"
          error={regulators.error?.message}
          options={(regulators.data?.rows ?? []).map((person) => ({ value: person.id, label: person.name }))}
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
      </div>
      <PagedTable
        operation={listLooks}
        input={{ query: { actorId: actorId === "" ? undefined : actorId, from, to } }}
        caption="Looks, newest first"
        noun={["look", "looks"]}
        rowKey={(look) => look.id}
        columns={[
          {
            heading: "At",
            isRowHeader: true,
            isNowrap: true,
            cell: (look) => <LocalInstant instant={look.at} />,
          },
          { heading: "By", cell: (look) => <PersonName person={look.person} /> },
          { heading: "What was asked for", cell: (look) => look.summary },
          {
            heading: "With",
            isNarrowHidden: true,
            cell: (look) =>
              look.parameters === "{}" ? "" : <code className="ledger-text">{look.parameters}</code>,
          },
          {
            heading: "Answer",
            cell: (look) =>
              look.allowed ? (
                <StatusMark tone="neutral">given</StatusMark>
              ) : (
                <StatusMark tone="warn">refused</StatusMark>
              ),
          },
        ]}
        empty={
          isFiltered ? (
            <Empty title="No look matches.">Take a filter away to see more.</Empty>
          ) : (
            <Empty title="No regulator has looked at anything yet." />
          )
        }
      />
    </div>
  );
}
