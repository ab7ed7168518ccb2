import "./field.css";
import { type ReactNode, useId } from "react";
import { describedBy } from "./described-by.ts";
import { FieldNotes } from "./field-notes.tsx";
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
        "aria-describedby": describedBy(id, { hint, error }),
      })}
      <FieldNotes id={id} hint={hint} error={error} />
    </div>
  );
}
