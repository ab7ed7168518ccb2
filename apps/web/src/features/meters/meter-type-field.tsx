import type { MeterType } from "@sealbook/contract/meter-types";
import { ComboBox } from "../../ui/combo-box.tsx";
import type { FieldProps } from "../../ui/field-props.ts";

/** One of the shop's meter types that are not retired, found by any part of maker, model or form. */
export function MeterTypeField({
  types,
  value,
  onChange,
  kept,
  ...field
}: Omit<FieldProps, "label"> & {
  types: readonly MeterType[];
  /** "" is nothing chosen. */
  value: string;
  onChange: (typeId: string) => void;
  /** Id of a type that is offered although it may be retired: the one that the meter has. */
  kept?: string;
}) {
  return (
    <ComboBox
      label="Type"
      hint="Type any part of maker, model or form."
      {...field}
      value={value}
      onChange={onChange}
      options={types
        .filter((type) => !type.retired || type.id === kept)
        .map((type) => ({
          value: type.id,
          label: `${type.maker} ${type.model}, ${type.form}`,
          note: `CL${type.classAmperes}, ${type.designVolts} V, Kh ${type.kh}`,
        }))}
    />
  );
}
