import { Field } from "./field.tsx";
import type { TextFieldProps } from "./field-props.ts";

/** One line of text. */
export function TextField({
  value,
  onChange,
  type = "text",
  placeholder,
  autoComplete = "off",
  autoFocus,
  maxLength,
  onBlur,
  onKeyDown,
  inputRef,
  inputMode,
  ...field
}: TextFieldProps & {
  type?: "text" | "password" | "search";
  inputMode?: "text" | "numeric" | "search";
}) {
  return (
    <Field {...field}>
      {(control) => (
        <input
          {...control}
          ref={inputRef}
          className="field-input"
          type={type}
          inputMode={inputMode}
          value={value}
          placeholder={placeholder}
          autoComplete={autoComplete}
          // biome-ignore lint/a11y/noAutofocus: screens with one field to begin with put the keyboard there.
          autoFocus={autoFocus}
          maxLength={maxLength}
          spellCheck={false}
          onChange={(event) => onChange(event.target.value)}
          onBlur={onBlur}
          onKeyDown={onKeyDown}
        />
      )}
    </Field>
  );
}
