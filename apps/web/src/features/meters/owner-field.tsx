import { type Owner, ownerNames, owners } from "@sealbook/contract/meters";
import type { FieldProps } from "../../ui/field-props.ts";
import { Select } from "../../ui/select.tsx";

/** Whose the meter is. */
export function OwnerField({
  value,
  onChange,
  ...field
}: Omit<FieldProps, "label"> & { value: Owner; onChange: (owner: Owner) => void }) {
  return (
    <Select
      label="Owner"
      {...field}
      value={value}
      onChange={(owner) => onChange(owner === "" ? "utility" : owner)}
      options={owners.map((owner) => ({ value: owner, label: ownerNames[owner] }))}
    />
  );
}
