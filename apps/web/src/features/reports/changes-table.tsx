import type { ReportBody } from "@sealbook/contract/reports";
import { useState } from "react";
import { Button } from "../../ui/button.tsx";
import { DataTable } from "../../ui/data-table.tsx";
import { Empty } from "../../ui/empty.tsx";
import { changeWords } from "./change-words.ts";

const shownAtFirst = 50;

/** Two editions side by side: every figure that differs. */
export function ChangesTable({
  body,
  changes,
}: {
  body: ReportBody;
  changes: NonNullable<ReportBody["changes"]>;
}) {
  const [isWhole, setIsWhole] = useState(false);
  if (changes.length === 0) return <Empty title="No figure differs." />;
  const shown = isWhole ? changes : changes.slice(0, shownAtFirst);
  return (
    <div className="stack-tight">
      <DataTable
        caption="Figures that differ between the editions"
        rows={shown}
        rowKey={(change) => change.at}
        columns={[
          { heading: "Figure", isRowHeader: true, cell: (change) => changeWords(change.at, body) },
          {
            heading: `Edition ${body.edition - 1}`,
            isNumeric: true,
            cell: (change) => change.before ?? <span className="quiet">none</span>,
          },
          {
            heading: `Edition ${body.edition}`,
            isNumeric: true,
            cell: (change) => change.after ?? <span className="quiet">none</span>,
          },
        ]}
      />
      {shown.length < changes.length ? (
        <div>
          <Button onClick={() => setIsWhole(true)}>Show all {changes.length}</Button>
        </div>
      ) : null}
    </div>
  );
}
