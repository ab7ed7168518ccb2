import { DataTable } from "../../ui/data-table.tsx";
import { type ChangedField, changedFields } from "./changed-fields.ts";

/** What a change changed, field by field; nothing for an entry that names no state before. */
export function RecordedChange({ payload }: { payload: string }) {
  const fields = changedFields(payload);
  if (fields === null) return null;
  if (fields.length === 0) return <p>Before and after are the same.</p>;
  return <ChangedFields caption="What changed, field by field" fields={fields} />;
}

/** Fields with what they said before and what they say after. */
export function ChangedFields({ caption, fields }: { caption: string; fields: readonly ChangedField[] }) {
  return (
    <DataTable
      caption={caption}
      rows={fields}
      rowKey={({ field }) => field}
      columns={[
        { heading: "Field", isRowHeader: true, cell: ({ field }) => field },
        { heading: "Before", cell: ({ before }) => before ?? <span className="quiet">–</span> },
        { heading: "After", cell: ({ after }) => after ?? <span className="quiet">–</span> },
      ]}
    />
  );
}
