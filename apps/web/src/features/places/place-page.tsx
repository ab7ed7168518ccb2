import { meterStateNames, meterStates } from "@sealbook/contract/meters";
import { getPlace, listMetersInPlace, placeKindNames } from "@sealbook/contract/places";
import { useSuspenseQuery } from "@tanstack/react-query";
import { Link } from "@tanstack/react-router";
import { useState } from "react";
import { operationOptions } from "../../api/operation-options.ts";
import { useMay } from "../../api/use-may.ts";
import { paths } from "../../paths.ts";
import { PagedTable } from "../../trade/paged-table.tsx";
import { Button } from "../../ui/button.tsx";
import { DataTable } from "../../ui/data-table.tsx";
import { DefinitionList } from "../../ui/definition-list.tsx";
import { Empty } from "../../ui/empty.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { Panel } from "../../ui/panel.tsx";
import { StatusMark } from "../../ui/status-mark.tsx";
import { useRouteParam } from "../../ui/use-route-param.ts";
import { AddPlaceDialog } from "./add-place-dialog.tsx";
import { ChangePlaceDialog } from "./change-place-dialog.tsx";

/** One place: what is in it, counted and listed. */
export function PlacePage() {
  const placeId = useRouteParam("placeId");
  const { data: place } = useSuspenseQuery(operationOptions(getPlace, { params: { id: placeId } }));
  const [open, setOpen] = useState<"change" | "shelf" | null>(null);
  const mayManage = useMay("place.manage") && place.kind !== "service-point";
  const total = place.meters.reduce((sum, { meters }) => sum + meters, 0);
  return (
    <div className="stack">
      <PageHeader
        title={place.name}
        note={`${placeKindNames[place.kind]}${place.closed ? ", closed" : ""}`}
        actions={
          mayManage ? (
            <>
              {place.kind === "store" && !place.closed ? (
                <Button onClick={() => setOpen("shelf")}>Add a shelf</Button>
              ) : null}
              <Button onClick={() => setOpen("change")}>Change it</Button>
            </>
          ) : undefined
        }
      />
      <DefinitionList
        items={[
          { term: "Meters in it", value: total },
          ...place.meters.map(({ state, meters }) => ({ term: stateName(state), value: meters })),
        ]}
      />
      {place.within.length === 0 ? null : (
        <Panel title="Places inside">
          <DataTable
            caption="Places inside this one"
            rows={place.within}
            rowKey={(row) => row.id}
            columns={[
              {
                heading: "Name",
                isRowHeader: true,
                cell: (row) => <Link to={paths.place(row.id)}>{row.name}</Link>,
              },
              { heading: "Kind", cell: (row) => placeKindNames[row.kind] },
              { heading: "Meters", isNumeric: true, cell: (row) => row.meters },
            ]}
          />
        </Panel>
      )}
      <Panel title="Meters">
        <PagedTable
          operation={listMetersInPlace}
          input={{ params: { id: place.id }, query: {} }}
          caption="Meters in this place by number"
          noun={["meter", "meters"]}
          rowKey={(meter) => meter.id}
          columns={[
            {
              heading: "Number",
              isRowHeader: true,
              isNowrap: true,
              cell: (meter) => <Link to={paths.meter(meter.id)}>{meter.utilityNumber}</Link>,
            },
            { heading: "Serial", cell: (meter) => meter.serial, isNowrap: true },
            { heading: "Type", cell: (meter) => meter.type, isNarrowHidden: true },
            { heading: "State", cell: (meter) => stateName(meter.state), isNowrap: true },
            {
              heading: "",
              isShortFor: "Hold",
              cell: (meter) => (meter.held ? <StatusMark tone="warn">Legal hold</StatusMark> : null),
            },
          ]}
          empty={<Empty title="No meter is here." />}
        />
      </Panel>
      {open === "change" ? <ChangePlaceDialog place={place} onDone={() => setOpen(null)} /> : null}
      {open === "shelf" ? <AddPlaceDialog inside={place.id} onDone={() => setOpen(null)} /> : null}
    </div>
  );
}

function stateName(state: string): string {
  const known = meterStates.find((one) => one === state);
  return known === undefined ? state : meterStateNames[known];
}
