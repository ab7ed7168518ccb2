import type { PointEvaluation } from "@sealbook/metrology/accuracy/pass-evaluation";
import { FormulaTraces } from "./formula-traces.tsx";
import { JudgedBy } from "./judged-by.tsx";

/** How one point's figure and verdict came about. */
export function PointStory({ point }: { point: PointEvaluation }) {
  return (
    <div className="stack-tight">
      <p>{point.reason}</p>
      {point.runs.map((run, index) =>
        run.state === "evaluated" ? (
          <div key={index}>
            {point.runs.length > 1 ? <p className="quiet">Run {index + 1}</p> : null}
            {run.howComputed.length === 0 ? (
              <p>The registration stands as it was entered.</p>
            ) : (
              <FormulaTraces traces={run.howComputed} />
            )}
          </div>
        ) : null,
      )}
      {point.sampleStandardDeviationPercent === null ? null : (
        <p>
          Mean of {point.runsEvaluated} runs {point.meanPercent} %, sample standard deviation{" "}
          {point.sampleStandardDeviationPercent} %, range {point.rangePercent} %.
        </p>
      )}
      <p>
        Standard: {point.correction.reason}
        {point.expandedUncertaintyPercent === null
          ? ""
          : ` Expanded uncertainty from its certificate: ${point.expandedUncertaintyPercent} % (k = 2).`}
      </p>
      <JudgedBy judgement={point} />
    </div>
  );
}
