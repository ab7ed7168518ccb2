import "./pull-list-page.css";
import { getProgramme, getPullList, listPulls } from "@sealbook/contract/groups";
import { useSuspenseQuery } from "@tanstack/react-query";
import { Link } from "@tanstack/react-router";
import { operationOptions } from "../../api/operation-options.ts";
import { operationUrl } from "../../api/operation-url.ts";
import { paths } from "../../paths.ts";
import { UnitStateMark } from "../../trade/lots/unit-state-mark.tsx";
import { PagedTable } from "../../trade/paged-table.tsx";
import { Button } from "../../ui/button.tsx";
import { Empty } from "../../ui/empty.tsx";
import { Notice } from "../../ui/notice.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { Select } from "../../ui/select.tsx";
import { useRouteParam } from "../../ui/use-route-param.ts";
import { useSearchText } from "../../ui/use-search-text.ts";

/** The meters to be pulled, by area and service point: on screen, on paper, as CSV. */
export function PullListPage() {
  const programmeId = useRouteParam("programmeId");
  const [search, change] = useSearchText();
  const { data: programme } = useSuspenseQuery(
    operationOptions(getProgramme, { params: { id: programmeId } }),
  );
  const area = programme.areas.find((one) => one === search.area) ?? "";
  const state = search.state === "all" ? "all" : "open";
  const filter = { ...(area === "" ? {} : { area }), state } as const;
  return (
    <div className="stack pull-list">
      <PageHeader
        title={`Pull list, ${programme.name}`}
        note={`${area === "" ? "All areas" : area}, results due ${programme.dueOn}`}
        actions={
          <>
            <Link to={paths.programme(programme.id)}>The programme</Link>
            <a href={operationUrl(getPullList, { id: programme.id }, filter)} download>
              As CSV
            </a>
            <Button onClick={() => window.print()}>Print</Button>
          </>
        }
      />
      <Notice tone="warn">
        <p>
          Before a meter is pulled: treat every socket and test block as energized until proven otherwise;
          never open the secondary of a current transformer that carries current, short it first; check
          voltage and form before a meter goes into a socket. Local codes, your employer's procedures and
          licensed practice decide.
        </p>
      </Notice>
      <div className="row-fields pull-list-filters">
        <Select
          label="Area"
          value={area}
          onChange={(next) => change({ area: next })}
          placeholder="All areas"
          options={programme.areas.map((one) => ({ value: one, label: one }))}
        />
        <Select
          label="Meters"
          value={state}
          onChange={(next) => change({ state: next === "all" ? "all" : "" })}
          options={[
            { value: "open", label: "Still to be tested" },
            { value: "all", label: "The whole sample" },
          ]}
        />
      </div>
      <PagedTable
        operation={listPulls}
        input={{ params: { id: programme.id }, query: { ...filter, limit: 200 } }}
        caption={`Pull list of ${programme.name}`}
        noun={["meter", "meters"]}
        rowKey={(pull) => `${pull.lotId} ${pull.position}`}
        columns={[
          { heading: "Area", cell: (pull) => pull.area ?? "–" },
          { heading: "Service point", cell: (pull) => pull.servicePoint ?? "–", isNowrap: true },
          { heading: "Address", cell: (pull) => pull.address ?? "–" },
          {
            heading: "Meter",
            isRowHeader: true,
            isNowrap: true,
            cell: (pull) => <Link to={paths.meter(pull.meterId)}>{pull.utilityNumber}</Link>,
          },
          { heading: "Serial", cell: (pull) => pull.serial, isNowrap: true, isNarrowHidden: true },
          { heading: "Form", cell: (pull) => pull.form },
          {
            heading: "Lot",
            isNowrap: true,
            cell: (pull) => (
              <>
                <Link to={paths.group(pull.lotId)}>{pull.lotNumber}</Link>, place {pull.place ?? "–"}
              </>
            ),
          },
          { heading: "Stands", cell: (pull) => <UnitStateMark state={pull.state} />, isNarrowHidden: true },
          { heading: "Due", cell: (pull) => pull.dueOn ?? "–", isNowrap: true },
        ]}
        empty={
          state === "open" ? (
            <Empty title="Every meter of the sample has an outcome here.">Nothing is left to pull.</Empty>
          ) : (
            <Empty title="Nothing has been drawn yet." />
          )
        }
      />
    </div>
  );
}
