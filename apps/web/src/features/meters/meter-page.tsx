import { getMeter, meterStateNames } from "@sealbook/contract/meters";
import { isDoneWith } from "@sealbook/metrology/life-cycle/legal-moves";
import { useSuspenseQuery } from "@tanstack/react-query";
import { Link } from "@tanstack/react-router";
import { useState } from "react";
import { operationOptions } from "../../api/operation-options.ts";
import { useMay } from "../../api/use-may.ts";
import { paths } from "../../paths.ts";
import { placeName } from "../../trade/place-name.ts";
import { Button } from "../../ui/button.tsx";
import { ButtonLink } from "../../ui/button-link.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { Panel } from "../../ui/panel.tsx";
import { useRouteParam } from "../../ui/use-route-param.ts";
import { kindsFor } from "./event-form.ts";
import { MeterFindings } from "./meter-findings.tsx";
import { MeterHolds, PlaceHoldDialog } from "./meter-holds.tsx";
import { MeterNameplate } from "./meter-nameplate.tsx";
import { MeterStory } from "./meter-story.tsx";
import { MeterTests } from "./meter-tests.tsx";
import { OpenWork } from "./open-work.tsx";
import { RecordEventDialog } from "./record-event-dialog.tsx";
import { RegistrationOverTime } from "./registration-over-time.tsx";

/** One meter: its nameplate, its open work, every test, and its story. */
export function MeterPage() {
  const meterId = useRouteParam("meterId");
  const { data: meter } = useSuspenseQuery(operationOptions(getMeter, { params: { id: meterId } }));
  const [open, setOpen] = useState<"event" | "hold" | null>(null);
  const isInUse = !isDoneWith(meter.state);
  const mayTest = useMay("meterTest.record") && isInUse;
  const mayAsk = useMay("workItem.open") && isInUse;
  const mayMove = useMay("meter.move") && meter.holds.length === 0 && kindsFor(meter.state).length > 0;
  const mayHold = useMay("meter.hold") && meter.state !== "disposed";
  const mayChange = useMay("meter.change");
  return (
    <div className="stack">
      <PageHeader
        title={`Meter ${meter.utilityNumber}`}
        note={`${meter.type.maker} ${meter.type.model}, form ${meter.type.form} · ${meterStateNames[meter.state]}, ${placeName(meter.place)}${meter.owner === "customer" ? " · the customer's own" : ""}`}
        actions={
          <>
            {mayHold ? (
              <Button kind="quiet" onClick={() => setOpen("hold")}>
                Place a legal hold
              </Button>
            ) : null}
            {mayAsk ? (
              <ButtonLink to={paths.newWork()} search={{ meterId: meter.id }}>
                Ask for a test
              </ButtonLink>
            ) : null}
            {mayMove ? <Button onClick={() => setOpen("event")}>Record a move</Button> : null}
            {mayTest ? (
              <ButtonLink kind="primary" to={paths.logMeter(meter.id)}>
                Log a test
              </ButtonLink>
            ) : null}
          </>
        }
      />
      <MeterHolds meter={meter} />
      {meter.sameNumber.length === 0 ? null : (
        <p>
          Utility number {meter.utilityNumber} was given more than once. Also:{" "}
          {meter.sameNumber.map((other, index) => (
            <span key={other.id}>
              {index === 0 ? "" : ", "}
              <Link to={paths.meter(other.id)}>
                {other.maker} serial {other.serial}
              </Link>{" "}
              ({meterStateNames[other.state].toLowerCase()})
            </span>
          ))}
          .
        </p>
      )}
      <MeterFindings meterId={meter.id} />
      <OpenWork meterId={meter.id} />
      <div className="columns">
        <Panel
          title="Nameplate"
          {...(mayChange
            ? { actions: <ButtonLink to={paths.editMeter(meter.id)}>Correct it</ButtonLink> }
            : {})}
        >
          <MeterNameplate meter={meter} />
        </Panel>
        <Panel title="Registration over the years">
          <RegistrationOverTime meterId={meter.id} />
        </Panel>
      </div>
      <Panel title="Tests">
        <MeterTests meterId={meter.id} />
      </Panel>
      <Panel title="Story">
        <MeterStory meter={meter} />
      </Panel>
      {open === "event" ? <RecordEventDialog meter={meter} onDone={() => setOpen(null)} /> : null}
      {open === "hold" ? <PlaceHoldDialog meter={meter} onDone={() => setOpen(null)} /> : null}
    </div>
  );
}
