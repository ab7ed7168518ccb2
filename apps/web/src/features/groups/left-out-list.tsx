import { DataTable } from "../../ui/data-table.tsx";

/** Meters that stand in no group, and why. Nobody is lost in silence. */
export function LeftOutList({ leftOut }: { leftOut: readonly { reason: string; meters: number }[] }) {
  if (leftOut.length === 0) return <p className="quiet">No meter is left out.</p>;
  return (
    <div className="stack-tight">
      <h3>Left out</h3>
      <DataTable
        caption="Meters left out, and why"
        rows={leftOut}
        rowKey={(row) => row.reason}
        columns={[
          { heading: "Why", isRowHeader: true, cell: (row) => row.reason },
          { heading: "Meters", cell: (row) => row.meters, isNumeric: true },
        ]}
      />
    </div>
  );
}
