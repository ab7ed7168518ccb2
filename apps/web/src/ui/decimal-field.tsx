import { Field } from "./field.tsx";
import type { TextFieldProps } from "./field-props.ts";

/** A decimal number, kept exactly as typed; only blanks around it are dropped. */
export function DecimalField({
  value,
  onChange,
  unit,
  placeholder,
  autoFocus,
  maxLength = 40,
  onBlur,
  onKeyDown,
  inputRef,
  autoComplete = "off",
  ...field
}: TextFieldProps & {
  /** Unit printed after the field, such as "Wh". */
  unit?: string;
}) {
  return (
    <Field {...field}>
      {(control) => {
        const input = (
          <input
            {...control}
            ref={inputRef}
            className="field-input field-input-numeric"
            type="text"
            inputMode="decimal"
            value={value}
            placeholder={placeholder}
            autoComplete={autoComplete}
            // biome-ignore lint/a11y/noAutofocus: screens with one field to begin with put the keyboard there.
            autoFocus={autoFocus}
            maxLength={maxLength}
            spellCheck={false}
            onChange={(event) => onChange(event.target.value.trim())}
            onBlur={onBlur}
            onKeyDown={onKeyDown}
          />
        );
        if (unit === undefined) return input;
        return (
          <div className="field-with-unit">
            {input}
            <span className="field-unit">{unit}</span>
          </div>
        );
      }}
    </Field>
  );
}
