import type { Import } from "@sealbook/contract/imports";
import { LocalInstant } from "../../trade/local-instant.tsx";
import { PersonName } from "../../trade/person-name.tsx";
import { StoredFileLink } from "../../trade/stored-file-link.tsx";
import { DataTable } from "../../ui/data-table.tsx";
import { DefinitionList } from "../../ui/definition-list.tsx";
import { Panel } from "../../ui/panel.tsx";
import { columnTitles } from "./column-titles.ts";
import { formatBytes } from "./format-bytes.ts";

interface FirstRow {
  cells: readonly string[];
  number: number;
}

/** Step 1: the file as it was taken in, and its first rows as they stand. */
export function FileStep({ of: { file, headings, sample, createdAt, createdBy } }: { of: Import }) {
  const rows: FirstRow[] = sample.map((cells, index) => ({ cells, number: index + 2 }));
  return (
    <Panel title="1. The file">
      <DefinitionList
        items={[
          { term: "Name", value: <StoredFileLink file={file} /> },
          { term: "Size", value: formatBytes(file.size) },
          { term: "Taken in", value: <LocalInstant instant={createdAt} /> },
          { term: "By", value: <PersonName person={createdBy} /> },
        ]}
      />
      <p className="file-hash">
        <span className="quiet small">SHA-256 of its bytes</span> <code>{file.sha256}</code>
      </p>
      <h3>First rows, as they stand</h3>
      {rows.length === 0 ? (
        <p>The file has headings and no rows.</p>
      ) : (
        <DataTable
          caption="First rows of the file"
          rows={rows}
          rowKey={({ number }) => String(number)}
          columns={columnTitles(headings).map((title, index) => ({
            heading: title,
            cell: (row: FirstRow) => row.cells[index] ?? "",
            isNowrap: true,
          }))}
        />
      )}
    </Panel>
  );
}
