import type { Series } from "@sealbook/contract/sampling-series";
import { LocalInstant } from "../../trade/local-instant.tsx";
import { OutcomeMark } from "../../trade/lots/outcome-mark.tsx";
import { PersonName } from "../../trade/person-name.tsx";
import { DataTable } from "../../ui/data-table.tsx";
import { Empty } from "../../ui/empty.tsx";

type Step = Series["characteristics"][number]["steps"][number];

const kindNames: Record<Step["kind"], string> = {
  lot: "Lot",
  irregular: "Production irregular",
  "corrective-action": "Corrective action",
  directed: "Directed by a person",
  joined: "Split or merged with lot",
};

/** Every step of a series with its reasons, oldest first. */
export function SeriesSteps({ steps, name }: { steps: readonly Step[]; name: string }) {
  if (steps.length === 0) return <Empty title="No lot of the series has been decided yet." />;
  return (
    <DataTable
      caption={`Steps of the series for ${name.toLowerCase()}, oldest first`}
      rows={steps.map((step, place) => ({ ...step, place }))}
      rowKey={(step) => String(step.place)}
      isQuiet={(step) => step.resubmitted}
      columns={[
        {
          heading: "When",
          isRowHeader: true,
          isNowrap: true,
          cell: (step) => <LocalInstant instant={step.at} />,
        },
        {
          heading: "What",
          cell: (step) => (
            <>
              {kindNames[step.kind]}
              {step.lotNumber === null ? "" : ` ${step.lotNumber}`}
              {step.resubmitted ? (
                <span className="quiet"> not an original inspection, does not count</span>
              ) : null}
              {step.by === null || step.kind === "lot" ? null : (
                <div className="small quiet">
                  <PersonName person={step.by} />
                </div>
              )}
            </>
          ),
        },
        {
          heading: "Outcome",
          cell: (step) => (step.outcome === null ? "–" : <OutcomeMark outcome={step.outcome} />),
        },
        { heading: "State before", cell: (step) => step.severityBefore, isNowrap: true },
        {
          heading: "State after",
          cell: (step) =>
            step.severityAfter === step.severityBefore ? (
              step.severityAfter
            ) : (
              <strong>{step.severityAfter}</strong>
            ),
          isNowrap: true,
        },
        {
          heading: "Why",
          cell: (step) =>
            step.reasons.length > 0 ? step.reasons.join(" ") : step.reason || "Nothing changes.",
        },
      ]}
    />
  );
}
