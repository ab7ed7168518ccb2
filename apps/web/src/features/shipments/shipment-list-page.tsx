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
import { SearchFilter } from "../../ui/search-filter.tsx";
import { Select } from "../../ui/select.tsx";
import { useSearchText } from "../../ui/use-search-text.ts";

/** Shipments over time, with the inspection state each was judged under. */
export function ShipmentListPage() {
  const [search, change] = useSearchText();
  const mayReceive = useMay("shipment.receive");
  const q = search.q ?? "";
  const state = lotStates.find((one) => one === search.state);
  return (
    <div className="stack">
      <PageHeader
        title="Shipments"
        note="Lots of new meters, judged by a sample before they go to stock."
        actions={
          <>
            <Link to={paths.planChooser()}>Try out a plan</Link>
            <Link to={paths.correctiveActions()}>Corrective actions</Link>
            {mayReceive ? (
              <ButtonLink kind="primary" to={paths.newShipment()}>
                Take in a shipment
              </ButtonLink>
            ) : null}
          </>
        }
      />
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
        input={{ query: { kind: "shipment", q, state } }}
        caption="Shipments, newest first"
        noun={["shipment", "shipments"]}
        rowKey={(lot) => lot.id}
        isQuiet={(lot) => lot.state === "withdrawn"}
        columns={lotColumns()}
        empty={
          q === "" && state === undefined ? (
            <Empty title="No shipment is on record yet.">
              {mayReceive
                ? "Take one in: its meters are listed, a sample is drawn, and the lot is decided by its results."
                : null}
            </Empty>
          ) : (
            <Empty title="No shipment matches.">Take a filter away.</Empty>
          )
        }
      />
    </div>
  );
}
