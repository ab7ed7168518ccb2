import { listProgrammes } from "@sealbook/contract/groups";
import { lotStateNames, lotStates } from "@sealbook/contract/lot-terms";
import { listLots } from "@sealbook/contract/sampling";
import { Link } from "@tanstack/react-router";
import { useMay } from "../../api/use-may.ts";
import { paths } from "../../paths.ts";
import { lotColumns } from "../../trade/lots/lot-columns.tsx";
import { PagedTable } from "../../trade/paged-table.tsx";
import { ButtonLink } from "../../ui/button-link.tsx";
import { Empty } from "../../ui/empty.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { Panel } from "../../ui/panel.tsx";
import { SearchFilter } from "../../ui/search-filter.tsx";
import { Select } from "../../ui/select.tsx";
import { useSearchText } from "../../ui/use-search-text.ts";
import { ProgrammeStateMark } from "./programme-state-mark.tsx";

/** Groups in service: the programmes of the years, and their lots by state. */
export function GroupsPage() {
  const [search, change] = useSearchText();
  const mayRun = useMay("sampling.run");
  const q = search.q ?? "";
  const state = lotStates.find((one) => one === search.state);
  return (
    <div className="stack">
      <PageHeader
        title="Groups in service"
        note="Meters in service, sampled year by year in groups of their kind."
        actions={
          <>
            <Link to={paths.groupYears()}>Year against year</Link>
            <Link to={paths.correctiveActions()}>Corrective actions</Link>
            <Link to={paths.planChooser()}>Try out a plan</Link>
            {mayRun ? (
              <ButtonLink kind="primary" to={paths.newProgramme()}>
                Begin a programme
              </ButtonLink>
            ) : null}
          </>
        }
      />
      <Panel title="Programmes">
        <PagedTable
          operation={listProgrammes}
          input={{}}
          caption="Programmes, newest first"
          noun={["programme", "programmes"]}
          rowKey={(programme) => programme.id}
          columns={[
            {
              heading: "Programme",
              isRowHeader: true,
              cell: (programme) => <Link to={paths.programme(programme.id)}>{programme.name}</Link>,
            },
            { heading: "Year", cell: (programme) => programme.year, isNumeric: true },
            { heading: "Scheme", cell: (programme) => programme.scheme.code, isNarrowHidden: true },
            { heading: "State", cell: (programme) => <ProgrammeStateMark state={programme.state} /> },
            { heading: "Lots", cell: (programme) => programme.counts.lots, isNumeric: true },
            {
              heading: "Sample done",
              cell: (programme) => `${programme.counts.done} of ${programme.counts.sample}`,
              isNumeric: true,
            },
            {
              heading: "Decided",
              cell: (programme) => programme.counts.decided,
              isNumeric: true,
              isNarrowHidden: true,
            },
            { heading: "Not accepted", cell: (programme) => programme.counts.notAccepted, isNumeric: true },
            { heading: "Results due", cell: (programme) => programme.dueOn, isNowrap: true },
          ]}
          empty={
            <Empty title="No programme is on record yet.">
              {mayRun
                ? "Begin one for a year: the groups are formed from the inventory, planned and listed in one go."
                : null}
            </Empty>
          }
        />
      </Panel>
      <Panel title="Lots">
        <div className="row-fields">
          <SearchFilter label="Number, maker or type" value={q} onChange={(next) => change({ q: next })} />
          <Select
            label="State"
            value={state ?? ""}
            onChange={(next) => change({ state: next })}
            placeholder="Any state"
            options={lotStates.map((one) => ({ value: one, label: lotStateNames[one] }))}
          />
        </div>
        <PagedTable
          operation={listLots}
          input={{ query: { kind: "in-service", q, state } }}
          caption="Groups in service, newest first"
          noun={["group", "groups"]}
          rowKey={(lot) => lot.id}
          isQuiet={(lot) => lot.state === "withdrawn"}
          columns={lotColumns()}
          empty={
            q === "" && state === undefined ? (
              <Empty title="No group has been sampled yet." />
            ) : (
              <Empty title="No group matches.">Take a filter away.</Empty>
            )
          }
        />
      </Panel>
    </div>
  );
}
