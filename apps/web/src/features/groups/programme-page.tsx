import { getProgramme } from "@sealbook/contract/groups";
import { listLots, seedSourceNames } from "@sealbook/contract/sampling";
import { useSuspenseQuery } from "@tanstack/react-query";
import { Link } from "@tanstack/react-router";
import { operationOptions } from "../../api/operation-options.ts";
import { paths } from "../../paths.ts";
import { LocalInstant } from "../../trade/local-instant.tsx";
import { lotColumns } from "../../trade/lots/lot-columns.tsx";
import { PagedTable } from "../../trade/paged-table.tsx";
import { PersonName } from "../../trade/person-name.tsx";
import { ButtonLink } from "../../ui/button-link.tsx";
import { DefinitionList } from "../../ui/definition-list.tsx";
import { Empty } from "../../ui/empty.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { Panel } from "../../ui/panel.tsx";
import { useRouteParam } from "../../ui/use-route-param.ts";
import { DrawProgrammeForm } from "./draw-programme-form.tsx";
import { LeftOutList } from "./left-out-list.tsx";
import { ProgrammeProgress } from "./programme-progress.tsx";
import { ProgrammeStateMark } from "./programme-state-mark.tsx";

/** One programme: its job, its draw, its lots and how far they are. */
export function ProgrammePage() {
  const programmeId = useRouteParam("programmeId");
  const { data: programme } = useSuspenseQuery({
    ...operationOptions(getProgramme, { params: { id: programmeId } }),
    refetchInterval: ({ state }) =>
      state.data?.state === "forming" || state.data?.state === "drawing" ? 1000 : 30_000,
  });
  const { counts, seed } = programme;
  return (
    <div className="stack">
      <PageHeader
        title={programme.name}
        note={
          <span className="row">
            <span>
              Year {programme.year},{" "}
              <Link to={paths.scheme(programme.scheme.id)}>
                {programme.scheme.code}, revision {programme.scheme.revision}
              </Link>
            </span>
            <ProgrammeStateMark state={programme.state} />
          </span>
        }
        actions={
          programme.state === "drawn" && counts.lots > 0 ? (
            <ButtonLink kind="primary" to={paths.pulls(programme.id)}>
              Pull list
            </ButtonLink>
          ) : undefined
        }
      />
      <ProgrammeProgress programme={programme} />
      {programme.state === "formed" && counts.lots > 0 && seed.source !== "system" ? (
        <Panel title="Draw">
          <DrawProgrammeForm programme={programme} />
        </Panel>
      ) : null}
      <Panel title="How far it is">
        <DefinitionList
          items={[
            { term: "Lots", value: counts.lots },
            { term: "Meters in them", value: counts.members },
            { term: "Sample", value: counts.sample },
            { term: "Places with an outcome", value: `${counts.done} of ${counts.sample}` },
            { term: "Decided", value: `${counts.decided} of ${counts.lots}` },
            { term: "Not accepted", value: counts.notAccepted },
            { term: "Results due", value: programme.dueOn },
            { term: "Seed", value: seedSourceNames[seed.source] },
            ...(seed.announcement === null ? [] : [{ term: "Named beforehand", value: seed.announcement }]),
            ...(seed.notBefore === null
              ? []
              : [{ term: "Not before", value: <LocalInstant instant={seed.notBefore} /> }]),
            {
              term: "Begun",
              value: (
                <>
                  <LocalInstant instant={programme.createdAt} /> <PersonName person={programme.createdBy} />
                </>
              ),
            },
            { term: "Ledger", value: <Link to={paths.ledgerEntry(programme.entryId)}>its entry</Link> },
          ]}
        />
        <LeftOutList leftOut={programme.leftOut} />
      </Panel>
      <Panel title="Lots">
        <PagedTable
          operation={listLots}
          input={{ query: { programmeId: programme.id } }}
          caption={`Lots of ${programme.name}`}
          noun={["lot", "lots"]}
          rowKey={(lot) => lot.id}
          columns={lotColumns()}
          empty={
            <Empty
              title={
                programme.state === "forming"
                  ? "No lot has been formed yet."
                  : "The scheme formed no lot from the inventory. What was left out, and why, stands above."
              }
            />
          }
        />
      </Panel>
    </div>
  );
}
