import { type Import, runImport } from "@sealbook/contract/imports";
import { listMeterTests } from "@sealbook/contract/meter-tests";
import { useQuery } from "@tanstack/react-query";
import { useRef, useState } from "react";
import { operationOptions } from "../../api/operation-options.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { paths } from "../../paths.ts";
import { ProblemNotice } from "../../trade/problem-notice.tsx";
import { Button } from "../../ui/button.tsx";
import { ButtonLink } from "../../ui/button-link.tsx";
import { Dialog } from "../../ui/dialog.tsx";
import { Panel } from "../../ui/panel.tsx";
import { fieldsUsed } from "./fields-used.ts";
import { countOf } from "./format-count.ts";
import { isUnderWay } from "./import-state.ts";
import { kindWords } from "./kind-words.ts";
import { RowCounts } from "./row-counts.tsx";
import { StepProgress } from "./step-progress.tsx";
import { useFocusOnEntering } from "./use-focus-on-entering.ts";
import { useMayImport } from "./use-may-import.ts";

/** Step 4: the good rows go into the book. */
export function RunStep({ of }: { of: Import }) {
  const place = useRef<HTMLDivElement>(null);
  useFocusOnEntering(place, of.state === "running");
  const mayRun = useMayImport(of.kind);
  return (
    <Panel title="4. Into the book">
      <div className="stack">
        <div role="status" ref={place} tabIndex={-1}>
          {sentenceOf(of)}
        </div>
        {of.state === "running" ? <StepProgress of={of} label="Going in" /> : null}
        {of.state === "running" || of.state === "done" ? (
          <RowCounts of={of} word="Went in" good={kindWords[of.kind].wentIn} />
        ) : null}
        {of.state === "checked" && of.rowsGood > 0 && mayRun ? <PutIn of={of} /> : null}
        {of.kind === "meter-tests" && !isUnderWay(of.state) ? <TestsOfImport importId={of.id} /> : null}
        {of.state === "done" && of.lot !== null ? (
          <div>
            <ButtonLink kind="primary" to={paths.shipment(of.lot.id)}>
              Back to shipment {of.lot.number}
            </ButtonLink>
          </div>
        ) : null}
      </div>
    </Panel>
  );
}

function PutIn({ of }: { of: Import }) {
  const [isAsking, setAsking] = useState(false);
  const run = useSubmission(runImport);
  const goIn = countOf(of.rowsGood, kindWords[of.kind].noun);
  const start = async () => {
    setAsking(false);
    await run.submit({ params: { id: of.id } });
  };
  return (
    <>
      {run.problem === null ? null : <ProblemNotice error={run.problem} />}
      <div>
        <Button kind="primary" isPending={run.pending} onClick={() => setAsking(true)}>
          {run.pending ? "Starting" : `Put ${goIn} in`}
        </Button>
      </div>
      {isAsking ? (
        <Dialog
          title={`Put ${goIn} into the book?`}
          onClose={() => setAsking(false)}
          buttons={
            <>
              <Button onClick={() => setAsking(false)}>Not yet</Button>
              <Button kind="primary" onClick={() => void start()}>
                Put {goIn} in
              </Button>
            </>
          }
        >
          <p>
            {kindWords[of.kind].forGood} {of.kind === "meter-tests" ? testerSentence(of) : null}
          </p>
          {of.rowsBad === 0 ? null : <p>{countOf(of.rowsBad, ["row stays", "rows stay"])} set aside.</p>}
          {of.rowsAlready === 0 ? null : (
            <p>{countOf(of.rowsAlready, ["row is", "rows are"])} in the book already and not added again.</p>
          )}
        </Dialog>
      ) : null}
    </>
  );
}

function testerSentence({ mapping }: Import): string {
  return fieldsUsed(Object.values(mapping?.body.columns ?? {})).tester
    ? "They go in unsigned and wait in the tray of whoever tested."
    : "No column names the tester, so you are on record as the tester, and they wait in your tray to be signed.";
}

/** The way to the tests that came from this file, if there are any. */
function TestsOfImport({ importId }: { importId: string }) {
  const found = useQuery(operationOptions(listMeterTests, { query: { importId, limit: 1 } }));
  if (found.error !== null) return <ProblemNotice error={found.error} onRetry={() => void found.refetch()} />;
  if (found.data === undefined || found.data.rows.length === 0) return null;
  return (
    <div className="row">
      <ButtonLink to={paths.tests()} search={{ importId }}>
        See the tests from this file
      </ButtonLink>
      <span className="quiet">They stay in the book, whatever becomes of the import.</span>
    </div>
  );
}

function sentenceOf({ state, kind, rowsGood, rowsAlready }: Import): string {
  const { noun } = kindWords[kind];
  switch (state) {
    case "uploaded":
    case "checking":
    case "cancelled":
    case "failed":
      return "When a dry run is done, its good rows can go in here.";
    case "checked":
      if (rowsGood > 0) return `${countOf(rowsGood, noun)} can go in.`;
      return rowsAlready > 0
        ? "Nothing is left to go in: what is good is in the book already."
        : "No row is good, so nothing can go in.";
    case "running":
      return `The ${noun[1]} are going in. You may leave this page; it goes on by itself.`;
    case "done":
      return `${countOf(rowsGood, noun)} went in.`;
  }
}
