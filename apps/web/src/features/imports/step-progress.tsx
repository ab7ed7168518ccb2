import { cancelImport, type Import } from "@sealbook/contract/imports";
import { useId } from "react";
import { useSubmission } from "../../api/use-submission.ts";
import { ProblemNotice } from "../../trade/problem-notice.tsx";
import { Button } from "../../ui/button.tsx";
import { formatCount } from "./format-count.ts";
import { useMayImport } from "./use-may-import.ts";

/** How far a step under way has come, and the way to stop it. */
export function StepProgress({ of, label }: { of: Import; label: string }) {
  const labelId = useId();
  const mayRun = useMayImport(of.kind);
  const cancel = useSubmission(cancelImport);
  const { rowsDone, rowsTotal, cancelAsked } = of;
  const isStopping = cancelAsked || cancel.pending;
  return (
    <div className="stack-tight">
      <div id={labelId}>
        {label}
        {": "}
        {rowsTotal === null
          ? "counting the rows…"
          : `${formatCount(rowsDone)} of ${formatCount(rowsTotal)} rows`}
      </div>
      <progress
        className="progress"
        aria-labelledby={labelId}
        {...(rowsTotal === null ? {} : { value: rowsDone, max: Math.max(rowsTotal, 1) })}
      />
      {mayRun ? (
        <div>
          <Button isPending={isStopping} onClick={() => void cancel.submit({ params: { id: of.id } })}>
            {isStopping ? "Stopping after the rows in hand" : "Stop"}
          </Button>
        </div>
      ) : null}
      {cancel.problem === null ? null : <ProblemNotice error={cancel.problem} />}
    </div>
  );
}
