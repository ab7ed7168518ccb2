import { Field } from "./field.tsx";
import type { FieldProps } from "./field-props.ts";

/** Several lines of text. */
export function TextArea({
  value,
  onChange,
  rows = 3,
  maxLength,
  ...field
}: FieldProps & { value: string; onChange: (value: string) => void; rows?: number; maxLength?: number }) {
  return (
    <Field {...field}>
      {(control) => (
        <textarea
          {...control}
          className="field-input"
          rows={rows}
          value={value}
          maxLength={maxLength}
          onChange={(event) => onChange(event.target.value)}
        />
      )}
    </Field>
  );
}
