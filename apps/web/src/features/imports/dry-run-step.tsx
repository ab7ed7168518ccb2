import { type checkImport, getSetAsideRows, type Import } from "@sealbook/contract/imports";
import { useQuery } from "@tanstack/react-query";
import { useRef } from "react";
import { operationUrl } from "../../api/operation-url.ts";
import type { Submission } from "../../api/use-submission.ts";
import { ProblemNotice } from "../../trade/problem-notice.tsx";
import { Button } from "../../ui/button.tsx";
import { Notice } from "../../ui/notice.tsx";
import { Panel } from "../../ui/panel.tsx";
import { useSearchText } from "../../ui/use-search-text.ts";
import { formatCount } from "./format-count.ts";
import { isUnderWay } from "./import-state.ts";
import { kindWords } from "./kind-words.ts";
import { RowCounts } from "./row-counts.tsx";
import { RowsSetAside } from "./rows-set-aside.tsx";
import { savedMappingsOptions } from "./saved-mappings-options.ts";
import { StepProgress } from "./step-progress.tsx";
import { useFocusOnEntering } from "./use-focus-on-entering.ts";
import { useMappingChoice } from "./use-mapping-choice.ts";
import { useMayImport } from "./use-may-import.ts";

/** Step 3: what would go in and what not, before anything does. */
export function DryRunStep({
  of,
  check,
  onCheck,
}: {
  of: Import;
  check: Submission<typeof checkImport>;
  onCheck: (mappingId: string) => Promise<void>;
}) {
  const place = useRef<HTMLDivElement>(null);
  useFocusOnEntering(place, of.state === "checking");
  const mayRun = useMayImport(of.kind);
  return (
    <Panel title="3. The dry run">
      <div className="stack">
        <div role="status" ref={place} tabIndex={-1}>
          {sentenceOf(of)}
        </div>
        {of.state === "checking" ? <StepProgress of={of} label="Dry run" /> : null}
        {of.state === "checked" || of.state === "cancelled" || of.state === "failed" ? (
          <RowCounts of={of} good={of.state === "checked" ? "can go in" : "among those looked at"} />
        ) : null}
        {of.state === "failed" && of.failure !== null ? (
          <Notice tone="bad" title="This step failed">
            <p>{of.failure}</p>
          </Notice>
        ) : null}
        {check.problem === null ? null : <ProblemNotice error={check.problem} />}
        {mayRun && !isUnderWay(of.state) ? (
          <StartCheck of={of} isPending={check.pending} onCheck={onCheck} />
        ) : null}
        {of.state === "uploaded" || isUnderWay(of.state) ? null : (
          <>
            <RowsSetAside importId={of.id} />
            {of.rowsBad > 0 ? (
              <div className="row">
                <a
                  className="button button-plain"
                  href={operationUrl(getSetAsideRows, { id: of.id })}
                  download
                >
                  Download the rows set aside
                </a>
                <span className="quiet">{kindWords[of.kind].mend}</span>
              </div>
            ) : null}
          </>
        )}
      </div>
    </Panel>
  );
}

function StartCheck({
  of,
  isPending,
  onCheck,
}: {
  of: Import;
  isPending: boolean;
  onCheck: (mappingId: string) => Promise<void>;
}) {
  // While they are fetched, and if that failed, the step before says so.
  const saved = useQuery(savedMappingsOptions(of.kind));
  const { chosen } = useMappingChoice(of, saved.data?.rows ?? []);
  const [{ form }] = useSearchText();
  if (form !== undefined) return <p className="quiet">Save the mapping first; then the dry run can start.</p>;
  if (chosen === null) {
    return <p className="quiet">Choose or make a mapping first; then the dry run can start.</p>;
  }
  const isOutOfDate =
    of.state === "checked" &&
    of.mapping !== null &&
    (of.mapping.id !== chosen.id || JSON.stringify(of.mapping.body) !== JSON.stringify(chosen.body));
  const isFirst = of.state === "uploaded";
  return (
    <>
      {isOutOfDate ? (
        <Notice tone="warn" title="The mapping is not the one of this dry run">
          <p>
            Another mapping was chosen, or this one was changed since. Start the dry run again to see what it
            makes.
          </p>
        </Notice>
      ) : null}
      <div>
        <Button
          kind={isFirst || isOutOfDate ? "primary" : "plain"}
          isPending={isPending}
          onClick={() => void onCheck(chosen.id)}
        >
          {isPending ? "Starting" : isFirst ? "Start the dry run" : "Start the dry run again"}
        </Button>
      </div>
    </>
  );
}

function sentenceOf({ state, rowsDone, rowsTotal, rowsGood, rowsAlready, rowsBad }: Import): string {
  switch (state) {
    case "uploaded":
      return "Nothing has been looked at yet.";
    case "checking":
      return "The dry run is under way; nothing goes into the book by it.";
    case "checked":
      return `The dry run is done: ${formatCount(rowsGood)} good, ${formatCount(rowsAlready)} already in the book, ${formatCount(rowsBad)} set aside.`;
    case "running":
      return "The good rows are going in; see below.";
    case "done":
      return "The dry run is done, and its good rows went in; see below.";
    case "cancelled":
      return `Stopped after ${formatCount(rowsDone)} of ${formatCount(rowsTotal ?? 0)} rows. Start the dry run again to see what is left to go in.`;
    case "failed":
      return `Ended after ${formatCount(rowsDone)} of ${formatCount(rowsTotal ?? 0)} rows. Start the dry run again to see what is left to go in.`;
  }
}
