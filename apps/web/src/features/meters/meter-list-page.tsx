import { listMeters } from "@sealbook/contract/meter-list";
import { listMeterTypes } from "@sealbook/contract/meter-types";
import { meterStateNames, meterStates } from "@sealbook/contract/meters";
import { useQuery } from "@tanstack/react-query";
import { Link } from "@tanstack/react-router";
import { operationOptions } from "../../api/operation-options.ts";
import { useMay } from "../../api/use-may.ts";
import { paths } from "../../paths.ts";
import { PagedTable } from "../../trade/paged-table.tsx";
import { VerdictMark } from "../../trade/verdict-mark.tsx";
import { ButtonLink } from "../../ui/button-link.tsx";
import { Empty } from "../../ui/empty.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { SearchFilter } from "../../ui/search-filter.tsx";
import { Select } from "../../ui/select.tsx";
import { useSearchText } from "../../ui/use-search-text.ts";

/** Every meter on record, found by number, state and type. The filters stand in the address. */
export function MeterListPage() {
  const [search, change] = useSearchText();
  const mayAdd = useMay("meter.create");
  const q = search.q ?? "";
  const state = meterStates.find((one) => one === search.state);
  const typeId = search.typeId ?? "";
  return (
    <div className="stack">
      <PageHeader
        title="Meters"
        actions={mayAdd ? <ButtonLink to={paths.newMeter()}>Add a meter</ButtonLink> : undefined}
      />
      <div className="row-fields">
        <SearchFilter label="Number or serial" value={q} onChange={(next) => change({ q: next })} />
        <Select
          label="State"
          value={state ?? ""}
          onChange={(next) => change({ state: next })}
          placeholder="Any state"
          options={meterStates.map((one) => ({ value: one, label: meterStateNames[one] }))}
        />
        <TypeFilter value={typeId} onChange={(next) => change({ typeId: next })} />
      </div>
      <PagedTable
        operation={listMeters}
        input={{ query: { q, state, typeId } }}
        caption="Meters by number"
        noun={["meter", "meters"]}
        rowKey={(meter) => meter.id}
        columns={[
          {
            heading: "Number",
            isRowHeader: true,
            isNowrap: true,
            cell: (meter) => <Link to={paths.meter(meter.id)}>{meter.utilityNumber}</Link>,
          },
          { heading: "Serial", cell: (meter) => meter.serial, isNowrap: true, isNarrowHidden: true },
          { heading: "Maker and model", cell: (meter) => `${meter.maker} ${meter.model}` },
          { heading: "Form", cell: (meter) => meter.form },
          { heading: "State", cell: (meter) => meterStateNames[meter.state], isNowrap: true },
          { heading: "Place", cell: (meter) => meter.place, isNarrowHidden: true },
          {
            heading: "Last test",
            cell: (meter) => meter.lastTestOn ?? "–",
            isNowrap: true,
            isNarrowHidden: true,
          },
          {
            heading: "As found",
            cell: (meter) =>
              meter.lastVerdict === null ? (
                <span className="quiet">not tested</span>
              ) : (
                <VerdictMark verdict={meter.lastVerdict} />
              ),
          },
        ]}
        empty={
          q === "" && state === undefined && typeId === "" ? (
            <Empty title="No meter is on record yet.">{mayAdd ? "Add one from its nameplate." : null}</Empty>
          ) : (
            <Empty title="No meter matches.">
              Check the number, or take a filter away
              {mayAdd && q !== "" ? (
                <>
                  ; or{" "}
                  <Link to={paths.newMeter()} search={{ number: q }}>
                    add meter {q}
                  </Link>{" "}
                  from its nameplate
                </>
              ) : null}
              .
            </Empty>
          )
        }
      />
    </div>
  );
}

function TypeFilter({ value, onChange }: { value: string; onChange: (value: string) => void }) {
  const types = useQuery(operationOptions(listMeterTypes, { query: { limit: 200 } }));
  return (
    <Select
      label="Type"
      value={value}
      onChange={onChange}
      placeholder="Any type"
      error={types.error === null ? undefined : types.error.message}
      options={(types.data?.rows ?? []).map((type) => ({
        value: type.id,
        label: `${type.maker} ${type.model}, ${type.form}`,
      }))}
    />
  );
}
