import { ComboBox } from "../../ui/combo-box.tsx";
import { DataTable } from "../../ui/data-table.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { cellsOfColumn } from "./cells-of-column.ts";
import { importFieldOptions, type OfferedField } from "./import-fields.ts";
import type { MappingForm } from "./mapping-form.ts";
import { serviceColumns } from "./service-columns.ts";

/** What each column of the file means: a heading, what stands under it, and the field. */
export function ColumnFields({
  columns,
  sample,
  offered,
  onChoose,
  errors,
  errorAt,
}: {
  columns: MappingForm["columns"];
  sample: readonly (readonly string[])[];
  /** What a column may mean. */
  offered: readonly OfferedField[];
  onChoose: (index: number, field: string) => void;
  /** What is wrong with the columns as a whole. */
  errors: readonly string[];
  errorAt: (pointer: string) => string | undefined;
}) {
  const rows = columns.map((column, index) => ({ ...column, index }));
  const whyPassedOver = (heading: string) => {
    if (heading === "" || serviceColumns.includes(heading)) return "passed over";
    const isTwice = rows.filter((row) => row.heading === heading).length > 1;
    return isTwice ? "passed over: the heading stands twice in the file" : null;
  };
  return (
    <div className="stack-tight" id={fieldId("/columns")} tabIndex={-1}>
      <DataTable
        caption="What the columns mean"
        rows={rows}
        rowKey={({ index }) => String(index)}
        columns={[
          {
            heading: "Column",
            isRowHeader: true,
            cell: ({ heading, isInFile }) => (
              <>
                {heading === "" ? <span className="quiet">no heading</span> : heading}
                {isInFile ? null : <div className="quiet small">not in this file</div>}
              </>
            ),
          },
          {
            heading: "First rows",
            isNarrowHidden: true,
            cell: ({ index, isInFile }) => (
              <span className="quiet">
                {isInFile ? cellsOfColumn(sample, index).slice(0, 3).join(" · ") : ""}
              </span>
            ),
          },
          {
            heading: "Means (empty: passed over)",
            cell: ({ heading, index, field }) =>
              whyPassedOver(heading) !== null && field === "" ? (
                <span className="quiet">{whyPassedOver(heading)}</span>
              ) : (
                <ComboBox
                  label={`Meaning of column ${heading}`}
                  hideLabel
                  id={fieldId(`/columns/${index}`)}
                  value={field}
                  onChange={(chosen) => onChoose(index, chosen)}
                  options={importFieldOptions(offered, columns, index)}
                  error={errorAt(`/columns/${index}`)}
                />
              ),
          },
        ]}
      />
      {errors.map((error) => (
        <div key={error} className="field-error">
          {error}
        </div>
      ))}
    </div>
  );
}
