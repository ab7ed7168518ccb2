import "./field.css";
import { type ReactNode, useId } from "react";
import type { FieldProps } from "./field-props.ts";

/** What the control of a field must carry, so that label, hint and error belong to it. */
export interface FieldControl {
  id: string;
  disabled: boolean;
  "aria-invalid": true | undefined;
  "aria-describedby": string | undefined;
}

/** A label, a control, and under it the hint and the error, tied together for assistive technology. */
export function Field({
  label,
  hint,
  error,
  optional = false,
  hideLabel = false,
  isDisabled = false,
  id: givenId,
  children,
}: FieldProps & { children: (control: FieldControl) => ReactNode }) {
  const ownId = useId();
  const id = givenId ?? ownId;
  const describedBy = [
    hint === undefined ? null : `${id}-hint`,
    error === undefined ? null : `${id}-error`,
  ].filter((part) => part !== null);
  return (
    <div className="field">
      <label htmlFor={id} className={hideLabel ? "visually-hidden" : "field-label"}>
        {label}
        {optional ? <span className="field-optional"> (optional)</span> : null}
      </label>
      {children({
        id,
        disabled: isDisabled,
        "aria-invalid": error === undefined ? undefined : true,
        "aria-describedby": describedBy.length === 0 ? undefined : describedBy.join(" "),
      })}
      {hint === undefined ? null : (
        <div id={`${id}-hint`} className="field-hint">
          {hint}
        </div>
      )}
      {error === undefined ? null : (
        <div id={`${id}-error`} className="field-error">
          {error}
        </div>
      )}
    </div>
  );
}
