import { listServicePoints } from "@sealbook/contract/service-points";
import { keepPreviousData, useQuery } from "@tanstack/react-query";
import { useState } from "react";
import { operationOptions } from "../../api/operation-options.ts";
import { ComboBox } from "../../ui/combo-box.tsx";
import type { FieldProps } from "../../ui/field-props.ts";
import { useDebounced } from "../../ui/use-debounced.ts";

/** A service point, found by any part of its number; the service offers the first that match. */
export function ServicePointField({
  value,
  onChange,
  ...field
}: FieldProps & { value: string; onChange: (placeId: string) => void }) {
  const [typed, setTyped] = useState("");
  // What stands in the field after a choice is the label: the number before its comma.
  const q = useDebounced((typed.split(",")[0] ?? "").trim(), 150);
  const points = useQuery({
    ...operationOptions(listServicePoints, { query: { limit: 20, ...(q === "" ? {} : { q }) } }),
    placeholderData: keepPreviousData,
  });
  return (
    <ComboBox
      {...field}
      error={field.error ?? points.error?.message}
      value={value}
      onChange={onChange}
      onInput={setTyped}
      options={(points.data?.rows ?? []).map(({ id, number, address, area }) => ({
        value: id,
        label: `${number}, ${address}`,
        note: area,
      }))}
    />
  );
}
