import { getSeries } from "@sealbook/contract/sampling-series";
import { samplingCharacteristicNames } from "@sealbook/metrology/sampling/decision/sampling-scheme";
import { useSuspenseQuery } from "@tanstack/react-query";
import { useState } from "react";
import { operationOptions } from "../../api/operation-options.ts";
import { useMay } from "../../api/use-may.ts";
import { severityNames } from "../../trade/lots/severity-names.ts";
import { Button } from "../../ui/button.tsx";
import { Empty } from "../../ui/empty.tsx";
import { Notice } from "../../ui/notice.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { Panel } from "../../ui/panel.tsx";
import { useSearchText } from "../../ui/use-search-text.ts";
import { SeriesSteps } from "./series-steps.tsx";
import { SwitchingEventForm } from "./switching-event-form.tsx";

/** Inspection state of a series of lots, and how it came about. */
export function SeriesPage() {
  const [search] = useSearchText();
  const { series, scheme: schemeCode } = search;
  if (series === undefined || schemeCode === undefined) {
    return (
      <div className="stack">
        <PageHeader title="Inspection state" />
        <Empty title="No series is named in this address.">
          Open a shipment or a group and follow “Inspection state of the series”.
        </Empty>
      </div>
    );
  }
  return <SeriesView series={series} schemeCode={schemeCode} />;
}

function SeriesView({ series, schemeCode }: { series: string; schemeCode: string }) {
  const { data } = useSuspenseQuery(operationOptions(getSeries, { query: { series, schemeCode } }));
  const mayDirect = useMay("sampling.decide");
  const [isAdding, setIsAdding] = useState(false);
  return (
    <div className="stack">
      <PageHeader
        title={`Inspection state of ${data.title}`}
        note={`Scheme ${data.schemeCode}${data.edition === null ? "" : `, switching of ${data.edition}`}`}
        actions={
          mayDirect && !isAdding ? (
            <Button onClick={() => setIsAdding(true)}>Put an event on record</Button>
          ) : undefined
        }
      />
      {data.switching ? null : (
        <Notice title="This scheme does not switch by itself: the state stays normal unless somebody directs another." />
      )}
      {isAdding ? (
        <Panel title="An event of the series">
          <SwitchingEventForm series={data} onDone={() => setIsAdding(false)} />
        </Panel>
      ) : null}
      {data.characteristics.map((one) => (
        <Panel
          key={one.characteristic}
          title={`${samplingCharacteristicNames[one.characteristic]}: ${severityNames[one.severity].toLowerCase()} for the next lot`}
        >
          {one.severity === "discontinued" ? (
            <Notice tone="bad" title="Inspection is discontinued">
              <p>No lot of this series is judged before corrective action is on record.</p>
            </Notice>
          ) : null}
          {one.inheritedFrom.length === 0 ? null : (
            <p className="quiet">Goes on from {one.inheritedFrom.length} earlier series, split or merged.</p>
          )}
          <SeriesSteps steps={one.steps} name={samplingCharacteristicNames[one.characteristic]} />
        </Panel>
      ))}
    </div>
  );
}
