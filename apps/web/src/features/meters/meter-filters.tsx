import "./meter-list.css";
import {
  dueWithin,
  dueWithinNames,
  type MeterFilter,
  type MeterOrder,
  meterOrderNames,
  meterOrders,
} from "@sealbook/contract/meter-list";
import { listMeterTypes } from "@sealbook/contract/meter-types";
import {
  meterStateNames,
  meterStates,
  ownerNames,
  owners,
  verdictNames,
  verdicts,
} from "@sealbook/contract/meters";
import { listPlaces } from "@sealbook/contract/places";
import { listLots } from "@sealbook/contract/sampling";
import { useQuery } from "@tanstack/react-query";
import { useState } from "react";
import { operationOptions, wholeListOptions } from "../../api/operation-options.ts";
import { ComboBox } from "../../ui/combo-box.tsx";
import { DateFilter } from "../../ui/date-filter.tsx";
import { SearchFilter } from "../../ui/search-filter.tsx";
import { Select } from "../../ui/select.tsx";
import { TextField } from "../../ui/text-field.tsx";
import type { SearchText } from "../../ui/use-search-text.ts";
import { useTypedFilter } from "../../ui/use-typed-filter.ts";

/** Filters that stand behind "More filters". */
const further = [
  "maker",
  "form",
  "owner",
  "placeId",
  "area",
  "lotId",
  "lastVerdict",
  "testedFrom",
  "testedTo",
  "due",
  "setYear",
] as const satisfies readonly (keyof MeterFilter)[];

/** Filters of the list of meters. All that are set hold at once; each change goes into the address. */
export function MeterFilters({
  filter,
  order,
  change,
}: {
  filter: MeterFilter;
  order: MeterOrder;
  change: (changes: SearchText) => void;
}) {
  const inUse = further.filter((name) => filter[name] !== undefined).length;
  const [isOpen, setOpen] = useState(inUse > 0);
  const types = useQuery(wholeListOptions(listMeterTypes, { query: {} }));
  const rows = types.data?.rows ?? [];
  const oneOf = (texts: readonly string[]) =>
    [...new Set(texts)].sort().map((text) => ({ value: text, label: text }));
  return (
    <div className="stack-tight">
      <div className="row-fields">
        <SearchFilter label="Number or serial" value={filter.q ?? ""} onChange={(q) => change({ q })} />
        <Select
          label="State"
          value={filter.state ?? ""}
          onChange={(state) => change({ state })}
          placeholder="Any state"
          options={meterStates.map((one) => ({ value: one, label: meterStateNames[one] }))}
        />
        <Select
          label="Type"
          value={filter.typeId ?? ""}
          onChange={(typeId) => change({ typeId })}
          placeholder="Any type"
          error={types.error === null ? undefined : types.error.message}
          options={rows.map((type) => ({
            value: type.id,
            label: `${type.maker} ${type.model}, ${type.form}`,
          }))}
        />
        <Select
          label="Order"
          value={order}
          onChange={(next) => change({ order: next === "number" ? "" : next })}
          options={meterOrders.map((one) => ({ value: one, label: meterOrderNames[one] }))}
        />
      </div>
      {/* Taking the last of them away does not close what somebody has open. */}
      <details open={isOpen || inUse > 0} onToggle={(event) => setOpen(event.currentTarget.open)}>
        <summary>{inUse === 0 ? "More filters" : `More filters (${inUse} set)`}</summary>
        <div className="row-fields meter-filters-more">
          <Select
            label="Maker"
            value={filter.maker ?? ""}
            onChange={(maker) => change({ maker })}
            placeholder="Any maker"
            options={oneOf(rows.map(({ maker }) => maker))}
          />
          <Select
            label="Form"
            value={filter.form ?? ""}
            onChange={(form) => change({ form })}
            placeholder="Any form"
            options={oneOf(rows.map(({ form }) => form))}
          />
          <Select
            label="Owner"
            value={filter.owner ?? ""}
            onChange={(owner) => change({ owner })}
            placeholder="Any owner"
            options={owners.map((one) => ({ value: one, label: ownerNames[one] }))}
          />
          <PlaceFilter value={filter.placeId ?? ""} onChange={(placeId) => change({ placeId })} />
          <SearchFilter
            label="Area"
            placeholder="the whole name"
            value={filter.area ?? ""}
            onChange={(area) => change({ area })}
          />
          <LotFilter value={filter.lotId ?? ""} onChange={(lotId) => change({ lotId })} />
          <Select
            label="Last test, as found"
            value={filter.lastVerdict ?? ""}
            onChange={(lastVerdict) => change({ lastVerdict })}
            placeholder="Any result"
            options={[
              ...verdicts
                .filter((one) => one !== "withdrawn")
                .map((one) => ({ value: one, label: verdictNames[one] })),
              { value: "not-tested" as const, label: "Not tested" },
            ]}
          />
          <DateFilter
            label="Last test from"
            value={filter.testedFrom ?? ""}
            onChange={(testedFrom) => change({ testedFrom })}
          />
          <DateFilter
            label="Last test to"
            value={filter.testedTo ?? ""}
            onChange={(testedTo) => change({ testedTo })}
          />
          <Select
            label="Periodic test due"
            value={filter.due ?? ""}
            onChange={(due) => change({ due })}
            placeholder="At any time"
            options={dueWithin.map((one) => ({ value: one, label: dueWithinNames[one] }))}
          />
          <YearFilter value={String(filter.setYear ?? "")} onChange={(setYear) => change({ setYear })} />
        </div>
      </details>
    </div>
  );
}

/** The utility's own places; a service point that an address names is offered as it is. */
function PlaceFilter({ value, onChange }: { value: string; onChange: (placeId: string) => void }) {
  const places = useQuery(wholeListOptions(listPlaces, { query: {} }));
  const rows = places.data?.rows ?? [];
  const isOther = value !== "" && places.data !== undefined && !rows.some(({ id }) => id === value);
  return (
    <Select
      label="Place"
      value={value}
      onChange={onChange}
      placeholder="Any place"
      options={[
        ...rows.map(({ id, name }) => ({ value: id, label: name })),
        ...(isOther ? [{ value, label: "One service point" }] : []),
      ]}
    />
  );
}

/** A shipment or a group in service, found by any part of its number or title. */
function LotFilter({ value, onChange }: { value: string; onChange: (lotId: string) => void }) {
  const lots = useQuery(operationOptions(listLots, { query: { limit: 200 } }));
  return (
    <ComboBox
      label="Shipment or group"
      optional
      value={value}
      onChange={onChange}
      options={(lots.data?.rows ?? []).map(({ id, number, title }) => ({
        value: id,
        label: number,
        note: title,
      }))}
    />
  );
}

function YearFilter({ value, onChange }: { value: string; onChange: (year: string) => void }) {
  const [typed, type] = useTypedFilter(value, (text) => /^(19|2\d)\d\d$/.test(text), onChange);
  return (
    <TextField
      label="Set in the year"
      optional
      inputMode="numeric"
      maxLength={4}
      value={typed}
      onChange={type}
    />
  );
}
