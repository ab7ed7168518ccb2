import type { PlanTable } from "@sealbook/metrology/sampling/attributes/plan-table";
import { DataTable } from "../../ui/data-table.tsx";

/** A table of plans by lot size, as its source prints it. */
export function PlanTableView({ table }: { table: PlanTable }) {
  const words = (plan: PlanTable["rows"][number]["normal"] | undefined) =>
    plan === undefined
      ? "–"
      : `n ${plan.n}, Ac ${plan.ac}${plan.drawn === undefined ? "" : `, ${plan.drawn} drawn`}`;
  return (
    <div className="stack-tight">
      <p className="quiet">{table.source}</p>
      <DataTable
        caption={`Plan table: ${table.name}`}
        rows={table.rows}
        rowKey={(row) => String(row.lotMin)}
        columns={[
          {
            heading: "Lot",
            isRowHeader: true,
            cell: (row) => (row.lotMax === null ? `from ${row.lotMin}` : `${row.lotMin} to ${row.lotMax}`),
            isNowrap: true,
          },
          { heading: "Normal", cell: (row) => words(row.normal) },
          { heading: "Tightened", cell: (row) => words(row.tightened) },
        ]}
      />
      <ul>
        {table.secondTry === undefined ? null : (
          <li>
            {table.secondTry.condition} The last day is counted from the decision:{" "}
            {table.secondTry.withinMonths} {table.secondTry.withinMonths === 1 ? "month" : "months"}.
          </li>
        )}
        {table.remarks.map((remark) => (
          <li key={remark}>{remark}</li>
        ))}
      </ul>
    </div>
  );
}
