import { cancelProgramme, type Programme } from "@sealbook/contract/groups";
import { useQueryClient } from "@tanstack/react-query";
import { useEffect, useRef } from "react";
import { areaKey } from "../../api/operation-options.ts";
import { useMay } from "../../api/use-may.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { useRefreshOnClash } from "../../trade/lots/use-refresh-on-clash.ts";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { Button } from "../../ui/button.tsx";
import { Notice } from "../../ui/notice.tsx";

/** How far the job of a programme is, with the way to stop it; nothing once it is done. */
export function ProgrammeProgress({ programme }: { programme: Programme }) {
  const queryClient = useQueryClient();
  const mayRun = useMay("sampling.run");
  const submission = useSubmission(cancelProgramme, { touches: ["sampling"] });
  useRefreshOnClash(submission.problem);
  const { progress, state } = programme;
  const isRunning = state === "forming" || state === "drawing";
  const wasRunning = useRef(isRunning);
  useEffect(() => {
    // The job's end makes the list of lots stale.
    if (wasRunning.current && !isRunning) {
      void queryClient.invalidateQueries({ queryKey: areaKey("sampling") });
      void queryClient.invalidateQueries({ queryKey: areaKey("groups") });
    }
    wasRunning.current = isRunning;
  }, [isRunning, queryClient]);
  if (state === "failed") {
    return (
      <Notice tone="bad" title="The programme's job failed" isAnnounced>
        <p>{programme.failure ?? "No cause is on record."} Lots formed so far stay.</p>
      </Notice>
    );
  }
  if (state === "cancelled") {
    return <Notice tone="warn" title="The job was stopped. Lots formed so far stay." />;
  }
  if (!isRunning) return null;
  const work = state === "forming" ? "Groups formed, planned and listed" : "Lists drawn";
  const words = progress.total === null ? `${progress.done} so far` : `${progress.done} of ${progress.total}`;
  return (
    <Notice title={`${work}: ${words}`}>
      <SubmissionSummary submission={submission} names={{}} />
      <div className="row">
        <progress
          aria-label={work}
          {...(progress.total === null ? {} : { value: progress.done, max: Math.max(1, progress.total) })}
        />
        {mayRun ? (
          <Button
            isPending={submission.pending}
            onClick={() =>
              void submission.submit({ params: { id: programme.id }, version: programme.version })
            }
          >
            Stop the job
          </Button>
        ) : null}
      </div>
    </Notice>
  );
}
