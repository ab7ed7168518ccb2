import type { BillRule, SignRule } from "@sealbook/metrology/billing/bill-rule";
import { DataTable } from "../../ui/data-table.tsx";
import { Panel } from "../../ui/panel.tsx";
import { monthsWords } from "./profile-words.ts";

const fractionNames = { "1": "the whole", "0.5": "half", "0.25": "a quarter of the" } as const;
const sinceNames = {
  "last-test": "time since the last test",
  installation: "time since installation",
} as const;

/** What a profile says about correcting bills after a test. */
export function ProfileBillAdjustment({ rule }: { rule: BillRule | null }) {
  if (rule === null) return null;
  const rows = [
    { name: "Fast", of: rule.fast },
    { name: "Slow", of: rule.slow },
  ];
  return (
    <Panel title="Bill adjustment">
      <DataTable
        caption="Adjustment of bills after a test"
        rows={rows}
        rowKey={(row) => row.name}
        columns={[
          { heading: "Meter", isRowHeader: true, cell: (row) => row.name },
          { heading: "Error above %", cell: (row) => row.of.thresholdPercent, isNumeric: true },
          { heading: "The utility", cell: (row) => dutyWords(row.of) },
          {
            heading: "Corrected to",
            cell: (row) => (row.of.correctTo === "hundred-percent" ? "100 %" : "the limit"),
            isNowrap: true,
          },
          { heading: "Over", cell: (row) => periodWords(row.of) },
        ]}
      />
      {rule.notes.length === 0 ? null : (
        <ul>
          {rule.notes.map((note) => (
            <li key={note}>{note}</li>
          ))}
        </ul>
      )}
      <p className="profile-source">
        {rule.citation.title}, {rule.citation.where}, read {rule.citation.dateRead}: {rule.citation.howRead}
      </p>
    </Panel>
  );
}

function dutyWords(rule: SignRule): string {
  if (rule.duty === "none") return "does not adjust";
  return rule.duty === "must" ? "must adjust" : "may adjust";
}

function periodWords(rule: SignRule): string {
  if (rule.duty === "none") return "–";
  const { assumedPeriod: period } = rule;
  if (period === null) return "the time since the error is known to have begun";
  const spans = period.shortestOf.map(
    ({ fraction, since }) => `${fractionNames[fraction]} ${sinceNames[since]}`,
  );
  const shortest = spans.length === 1 ? (spans[0] ?? "") : `the shortest of ${spans.join(" and ")}`;
  return period.capMonths === null ? shortest : `${shortest}, at most ${monthsWords(period.capMonths)}`;
}
