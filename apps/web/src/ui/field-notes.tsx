import type { ReactNode } from "react";

/** Hint and error under a control; the control names them by `describedBy`. */
export function FieldNotes({
  id,
  hint,
  error,
}: {
  id: string;
  hint?: ReactNode;
  error?: string | undefined;
}) {
  return (
    <>
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
    </>
  );
}
