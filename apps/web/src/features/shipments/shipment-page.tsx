import { ActionsStep } from "../../trade/lots/actions-step.tsx";
import { ApprovalStep } from "../../trade/lots/approval-step.tsx";
import { DecisionStep } from "../../trade/lots/decision-step.tsx";
import { DrawStep } from "../../trade/lots/draw-step.tsx";
import { LotHeader } from "../../trade/lots/lot-header.tsx";
import { PlanStep } from "../../trade/lots/plan-step.tsx";
import { SampleStep } from "../../trade/lots/sample-step.tsx";
import { SeriesLots } from "../../trade/lots/series-lots.tsx";
import { TallyStep } from "../../trade/lots/tally-step.tsx";
import { useLot } from "../../trade/lots/use-lot.ts";
import { useRouteParam } from "../../ui/use-route-param.ts";
import { DispositionPart } from "./disposition-part.tsx";
import { MetersStep } from "./meters-step.tsx";

/** One shipment, its steps in the order of the work. */
export function ShipmentPage() {
  const lotId = useRouteParam("lotId");
  const lot = useLot(lotId);
  return (
    <div className="stack" key={lot.id}>
      <LotHeader lot={lot} />
      <MetersStep lot={lot} number={1} />
      <PlanStep lot={lot} number={2} />
      <DrawStep lot={lot} number={3} />
      <SampleStep lot={lot} number={4} />
      <TallyStep lot={lot} number={5} />
      <DecisionStep lot={lot} number={6} />
      <ApprovalStep lot={lot} number={7} />
      <ActionsStep lot={lot} number={8}>
        <DispositionPart lot={lot} />
      </ActionsStep>
      <SeriesLots lot={lot} title="Lots of this maker, type and contract over time" />
    </div>
  );
}
