import type { PassEvaluation } from "@sealbook/metrology/accuracy/pass-evaluation";
import { FormulaTraces } from "./formula-traces.tsx";
import { JudgedBy } from "./judged-by.tsx";

/** How the average and its verdict came about. */
export function AverageStory({ average }: { average: NonNullable<PassEvaluation["average"]> }) {
  return (
    <div className="stack-tight">
      <p>{average.reason}</p>
      {average.howComputed === null ? null : <FormulaTraces traces={[average.howComputed]} />}
      <JudgedBy judgement={average} />
    </div>
  );
}
