import { stop } from "./move-on.ts";

/**
 * A number in the row of a run. Its label is for assistive technology, the heading of the column says it to the eye;
 * what is wrong with it stands under the row, where there is room for a sentence.
 */
export function RunField({
  id,
  label,
  heading,
  value,
  onChange,
  errorId,
  isStop,
}: {
  id: string;
  label: string;
  /** Short name, seen on narrow screens where the columns have no heading. */
  heading: string;
  value: string;
  onChange: (text: string) => void;
  /** Id of the sentence about what is wrong; undefined while nothing is. */
  errorId: string | undefined;
  /** Whether Enter stops here. */
  isStop: boolean;
}) {
  return (
    <div className="run-field">
      <label htmlFor={id}>
        <span className="visually-hidden">{label}</span>
        <span className="run-field-heading" aria-hidden="true">
          {heading}
        </span>
      </label>
      <input
        id={id}
        className="field-input field-input-numeric"
        type="text"
        inputMode="decimal"
        autoComplete="off"
        spellCheck={false}
        maxLength={40}
        value={value}
        aria-invalid={errorId === undefined ? undefined : true}
        aria-describedby={errorId}
        data-stop={stop(isStop)}
        onChange={(event) => onChange(event.target.value.trim())}
      />
    </div>
  );
}
