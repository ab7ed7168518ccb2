import { getMeter, meterStateNames } from "@sealbook/contract/meters";
import { useSuspenseQuery } from "@tanstack/react-query";
import { operationOptions } from "../../api/operation-options.ts";
import { useMay } from "../../api/use-may.ts";
import { paths } from "../../paths.ts";
import { placeName } from "../../trade/place-name.ts";
import { ButtonLink } from "../../ui/button-link.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { Panel } from "../../ui/panel.tsx";
import { useRouteParam } from "../../ui/use-route-param.ts";
import { MeterNameplate } from "./meter-nameplate.tsx";
import { MeterStory } from "./meter-story.tsx";
import { MeterTests } from "./meter-tests.tsx";
import { OpenWork } from "./open-work.tsx";
import { RegistrationOverTime } from "./registration-over-time.tsx";

/** One meter: its nameplate, its open work, every test, and where it has been. */
export function MeterPage() {
  const meterId = useRouteParam("meterId");
  const { data: meter } = useSuspenseQuery(operationOptions(getMeter, { params: { id: meterId } }));
  const mayTest = useMay("meterTest.record") && meter.state !== "retired";
  const mayAsk = useMay("workItem.open") && meter.state !== "retired";
  return (
    <div className="stack">
      <PageHeader
        title={`Meter ${meter.utilityNumber}`}
        note={`${meter.type.maker} ${meter.type.model}, form ${meter.type.form} · ${meterStateNames[meter.state]}, ${placeName(meter.place)}`}
        actions={
          <>
            {mayAsk ? (
              <ButtonLink to={paths.newWork()} search={{ meterId: meter.id }}>
                Ask for a test
              </ButtonLink>
            ) : null}
            {mayTest ? (
              <ButtonLink kind="primary" to={paths.logMeter(meter.id)}>
                Log a test
              </ButtonLink>
            ) : null}
          </>
        }
      />
      <OpenWork meterId={meter.id} />
      <div className="columns">
        <Panel title="Nameplate">
          <MeterNameplate meter={meter} />
        </Panel>
        <Panel title="Registration over the years">
          <RegistrationOverTime meterId={meter.id} />
        </Panel>
      </div>
      <Panel title="Tests">
        <MeterTests meterId={meter.id} />
      </Panel>
      <Panel title="Where it has been">
        <MeterStory events={meter.events} />
      </Panel>
    </div>
  );
}
