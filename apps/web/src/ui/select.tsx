import type { Ref } from "react";
import { Field } from "./field.tsx";
import type { FieldProps } from "./field-props.ts";

export interface SelectOption<Value extends string = string> {
  value: Value;
  label: string;
  isDisabled?: boolean;
}

/** One of a short list, by the browser's own control: typing ahead works, phones show their wheel. */
export function Select<Value extends string>({
  value,
  onChange,
  options,
  placeholder,
  selectRef,
  ...field
}: FieldProps & {
  /** "" is nothing chosen. */
  value: Value | "";
  onChange: (value: Value | "") => void;
  options: readonly SelectOption<Value>[];
  /** The line that stands for nothing chosen; without it something is always chosen. */
  placeholder?: string;
  selectRef?: Ref<HTMLSelectElement>;
}) {
  return (
    <Field {...field}>
      {(control) => (
        <select
          {...control}
          ref={selectRef}
          className="field-input"
          value={value}
          onChange={(event) => onChange(event.target.value as Value | "")}
        >
          {placeholder === undefined ? null : <option value="">{placeholder}</option>}
          {options.map((option) => (
            <option key={option.value} value={option.value} disabled={option.isDisabled}>
              {option.label}
            </option>
          ))}
        </select>
      )}
    </Field>
  );
}
