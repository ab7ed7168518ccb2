import "./field.css";
import { type ReactNode, useId } from "react";
import { describedBy } from "./described-by.ts";
import { FieldNotes } from "./field-notes.tsx";

/** A single yes or no. */
export function Checkbox({
  isSelected,
  onChange,
  children,
  hint,
  error,
  isDisabled = false,
  id: givenId,
}: {
  isSelected: boolean;
  onChange: (isSelected: boolean) => void;
  children: ReactNode;
  hint?: ReactNode;
  error?: string | undefined;
  isDisabled?: boolean;
  id?: string | undefined;
}) {
  const ownId = useId();
  const id = givenId ?? ownId;
  return (
    <div className="field">
      <label className="choice">
        <input
          id={id}
          type="checkbox"
          checked={isSelected}
          disabled={isDisabled}
          aria-invalid={error === undefined ? undefined : true}
          aria-describedby={describedBy(id, { hint, error })}
          onChange={(event) => onChange(event.target.checked)}
        />
        <span>{children}</span>
      </label>
      <FieldNotes id={id} hint={hint} error={error} />
    </div>
  );
}
