import { listPlaces, type PlaceKind, placeKindNames } from "@sealbook/contract/places";
import { keepPreviousData, useQuery } from "@tanstack/react-query";
import { useState } from "react";
import { operationOptions } from "../api/operation-options.ts";
import { ComboBox } from "../ui/combo-box.tsx";
import type { FieldProps } from "../ui/field-props.ts";
import { useDebounced } from "../ui/use-debounced.ts";

/** One of the utility's own places, found by any part of its name. */
export function PlaceField({
  value,
  onChange,
  kinds,
  ...field
}: FieldProps & {
  /** "" is nothing chosen. */
  value: string;
  onChange: (placeId: string) => void;
  /** Kinds that are offered; all of the utility's own unless said. */
  kinds?: readonly PlaceKind[];
}) {
  const [typed, setTyped] = useState("");
  const q = useDebounced(typed.trim());
  const places = useQuery({
    ...operationOptions(listPlaces, { query: { limit: 200 } }),
    placeholderData: keepPreviousData,
  });
  // A shop with more places than a page holds is searched by the service.
  const found = useQuery({
    ...operationOptions(listPlaces, { query: { limit: 50, q } }),
    enabled: places.data?.next != null && q !== "",
  });
  const rows = new Map(
    [...(places.data?.rows ?? []), ...(found.data?.rows ?? [])].map((row) => [row.id, row]),
  );
  return (
    <ComboBox
      {...field}
      error={field.error ?? places.error?.message}
      value={value}
      onChange={onChange}
      // A list that comes after the field was drawn is taken up by a fresh one.
      key={places.data === undefined ? "waiting" : "ready"}
      options={[...rows.values()]
        .filter(({ kind }) => kinds === undefined || kinds.includes(kind))
        .map(({ id, kind, name }) => ({ value: id, label: name, note: placeKindNames[kind] }))}
      {...(places.data?.next == null ? {} : { onInput: setTyped })}
    />
  );
}
