import "./field.css";
import { useId } from "react";
import { describedBy } from "./described-by.ts";
import { FieldNotes } from "./field-notes.tsx";
import type { FieldProps } from "./field-props.ts";
import type { SelectOption } from "./select.tsx";

/** One of a few, all in sight; arrow keys move the choice. */
export function RadioGroup<Value extends string>({
  label,
  hint,
  error,
  optional = false,
  hideLabel = false,
  isDisabled = false,
  id: givenId,
  value,
  onChange,
  options,
}: FieldProps & {
  /** "" is nothing chosen yet. */
  value: Value | "";
  onChange: (value: Value) => void;
  options: readonly SelectOption<Value>[];
}) {
  const ownId = useId();
  const id = givenId ?? ownId;
  return (
    <fieldset className="field" disabled={isDisabled} aria-describedby={describedBy(id, { hint, error })}>
      <legend className={hideLabel ? "visually-hidden" : "field-label"}>
        {label}
        {optional ? <span className="field-optional"> (optional)</span> : null}
      </legend>
      <div className="choice-list">
        {options.map((option, index) => (
          <label className="choice" key={option.value}>
            <input
              id={index === 0 ? id : undefined}
              type="radio"
              name={id}
              value={option.value}
              checked={value === option.value}
              disabled={option.isDisabled}
              aria-invalid={error === undefined ? undefined : true}
              onChange={() => onChange(option.value)}
            />
            <span>{option.label}</span>
          </label>
        ))}
      </div>
      <FieldNotes id={id} hint={hint} error={error} />
    </fieldset>
  );
}
