import type { DemandEvaluation } from "@sealbook/metrology/accuracy/pass-evaluation";
import { signedText } from "../../trade/signed-text.ts";
import { DataTable } from "../../ui/data-table.tsx";
import { FormulaTraces } from "./formula-traces.tsx";
import { JudgementMark } from "./judgement-mark.tsx";

/** The demand readings of a recorded pass, their errors and verdicts, and how each came about. */
export function RecordedDemand({ demand }: { demand: readonly DemandEvaluation[] }) {
  const isOfFullScale = demand[0]?.basis === "full-scale";
  return (
    <>
      <DataTable
        caption="Demand readings"
        rows={demand.map((evaluated, index) => ({ ...evaluated, name: `Demand ${index + 1}` }))}
        rowKey={({ name }) => name}
        columns={[
          { heading: "Reading", isRowHeader: true, cell: ({ name }) => name, isNowrap: true },
          { heading: "Meter kW", decimal: ({ reading }) => reading.indicatedKw },
          { heading: "Reference kW", decimal: ({ reading }) => reading.referenceKw },
          isOfFullScale
            ? { heading: "Full scale kW", decimal: ({ reading }) => reading.fullScaleKw }
            : { heading: "Load % of TA", decimal: ({ reading }) => reading.loadPercent ?? null },
          {
            heading: isOfFullScale ? "Error % of full scale" : "Error % of reading",
            decimal: ({ errorPercent }) => (errorPercent === null ? null : signedText(errorPercent)),
          },
          {
            heading: "Limits %",
            cell: ({ limits }) =>
              limits === null ? (
                <span className="quiet">none</span>
              ) : (
                <span title={limits.source}>±{limits.maxErrorPercent}</span>
              ),
          },
          { heading: "Verdict", cell: ({ verdict }) => <JudgementMark verdict={verdict} />, isNowrap: true },
        ]}
      />
      <details>
        <summary>How the errors of demand came about</summary>
        {demand.map(({ reason, howComputed }, index) => (
          <div key={index}>
            <p>{reason}</p>
            {howComputed === null ? null : <FormulaTraces traces={[howComputed]} />}
          </div>
        ))}
      </details>
    </>
  );
}
