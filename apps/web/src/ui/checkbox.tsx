import "./field.css";
import { type ReactNode, useId } from "react";

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
  const describedBy = [
    hint === undefined ? null : `${id}-hint`,
    error === undefined ? null : `${id}-error`,
  ].filter((part) => part !== null);
  return (
    <div className="field">
      <label className="choice">
        <input
          id={id}
          type="checkbox"
          checked={isSelected}
          disabled={isDisabled}
          aria-invalid={error === undefined ? undefined : true}
          aria-describedby={describedBy.length === 0 ? undefined : describedBy.join(" ")}
          onChange={(event) => onChange(event.target.checked)}
        />
        <span>{children}</span>
      </label>
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
