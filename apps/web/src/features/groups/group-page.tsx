import type { Lot } from "@sealbook/contract/sampling";
import { Link, Navigate } from "@tanstack/react-router";
import { useState } from "react";
import { paths } from "../../paths.ts";
import { ActionsStep } from "../../trade/lots/actions-step.tsx";
import { ApprovalStep } from "../../trade/lots/approval-step.tsx";
import { DecisionStep } from "../../trade/lots/decision-step.tsx";
import { DrawStep } from "../../trade/lots/draw-step.tsx";
import { LotHeader } from "../../trade/lots/lot-header.tsx";
import { LotStep } from "../../trade/lots/lot-step.tsx";
import { MembersTable } from "../../trade/lots/members-table.tsx";
import { PlanStep } from "../../trade/lots/plan-step.tsx";
import { SampleStep } from "../../trade/lots/sample-step.tsx";
import { SeriesLots } from "../../trade/lots/series-lots.tsx";
import { TallyStep } from "../../trade/lots/tally-step.tsx";
import { useLot } from "../../trade/lots/use-lot.ts";
import { Button } from "../../ui/button.tsx";
import { DefinitionList } from "../../ui/definition-list.tsx";
import { Panel } from "../../ui/panel.tsx";
import { useRouteParam } from "../../ui/use-route-param.ts";
import { BothTries } from "./both-tries.tsx";
import { CloseGroupPart } from "./close-group-part.tsx";
import { GroupYears } from "./group-years.tsx";
import { SecondTryPart } from "./second-try-part.tsx";

/** One group in service, its steps in the order of the work, and its years. */
export function GroupPage() {
  const lotId = useRouteParam("lotId");
  const lot = useLot(lotId);
  // A list that does not tell the kinds of lots apart leads here for all of them.
  if (lot.kind !== "in-service") return <Navigate to={paths.shipment(lot.id)} replace />;
  return (
    <div className="stack" key={lot.id}>
      <LotHeader lot={lot} />
      <BothTries lot={lot} />
      <MetersStep lot={lot} />
      <PlanStep lot={lot} number={2} />
      <DrawStep lot={lot} number={3} />
      <SampleStep lot={lot} number={4} />
      <TallyStep lot={lot} number={5} />
      <DecisionStep lot={lot} number={6} />
      <ApprovalStep lot={lot} number={7} />
      <ActionsStep lot={lot} number={8}>
        <SecondTryPart lot={lot} />
        <CloseGroupPart lot={lot} />
      </ActionsStep>
      <Panel title="Year against year">
        <GroupYears filter={{ series: lot.series }} />
      </Panel>
      <SeriesLots lot={lot} title="Lots of this group over time" />
    </div>
  );
}

function MetersStep({ lot }: { lot: Lot }) {
  const [isShown, setIsShown] = useState(false);
  return (
    <LotStep number={1} title="Meters">
      <DefinitionList
        items={[
          { term: "Meters in the group", value: lot.counts.members },
          { term: "Year", value: lot.year },
          {
            term: "Programme",
            value:
              lot.programmeId === null ? (
                "–"
              ) : (
                <Link to={paths.programme(lot.programmeId)}>its programme and pull list</Link>
              ),
          },
          ...(lot.inherits.length === 0
            ? []
            : [{ term: "Goes on from", value: `${lot.inherits.length} earlier groups, split or merged` }]),
        ]}
      />
      {lot.counts.members === 0 ? null : (
        <div>
          <Button kind="quiet" aria-expanded={isShown} onClick={() => setIsShown(!isShown)}>
            {isShown ? "Put the list of meters away" : "Show the list of meters"}
          </Button>
        </div>
      )}
      {isShown ? <MembersTable lot={lot} /> : null}
    </LotStep>
  );
}
