import { Button } from "../../ui/button.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { Select } from "../../ui/select.tsx";
import { TextField } from "../../ui/text-field.tsx";
import type { WordRow } from "./mapping-form.ts";
import { withBlankRow } from "./word-rows.ts";

/** The file's words for something, and what each means to us. */
export function WordFields({
  label,
  pointer,
  rows,
  onChange,
  options,
  errorAt,
}: {
  label: string;
  /** Pointer of the list in the form. */
  pointer: string;
  rows: readonly WordRow[];
  onChange: (rows: WordRow[]) => void;
  options: readonly { value: string; label: string }[];
  errorAt: (pointer: string) => string | undefined;
}) {
  const change = (key: number, changes: Partial<WordRow>) =>
    onChange(rows.map((row) => (row.key === key ? { ...row, ...changes } : row)));
  return (
    <fieldset className="word-fields">
      <legend>{label}</legend>
      {rows.map((row, index) => (
        <div key={row.key} className="word-fields-row">
          <TextField
            label="The file's word"
            id={fieldId(`${pointer}/${index}`)}
            value={row.word}
            onChange={(word) => change(row.key, { word })}
            error={errorAt(`${pointer}/${index}`)}
            maxLength={80}
          />
          <Select
            label="means"
            value={row.meaning}
            onChange={(meaning) => change(row.key, { meaning })}
            options={options}
            placeholder="Not known: set its rows aside"
          />
          <Button
            kind="quiet"
            aria-label={`Take off ${row.word === "" ? `line ${index + 1}` : row.word}`}
            onClick={() => onChange(rows.filter(({ key }) => key !== row.key))}
          >
            Take off
          </Button>
        </div>
      ))}
      <div>
        <Button onClick={() => onChange(withBlankRow(rows))}>Add a word</Button>
      </div>
    </fieldset>
  );
}
