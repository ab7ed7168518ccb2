import { cancelProgramme, type Programme, resumeProgramme } from "@sealbook/contract/groups";
import { useQueryClient } from "@tanstack/react-query";
import { useEffect, useRef } from "react";
import { areaKey } from "../../api/operation-options.ts";
import { useMay } from "../../api/use-may.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { useRefreshOnClash } from "../../trade/lots/use-refresh-on-clash.ts";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { Button } from "../../ui/button.tsx";
import { Notice } from "../../ui/notice.tsx";
import { jobStep } from "./job-step.ts";

/** How far the job of a programme is, with the way to stop it or to go on with it; nothing once it is done. */
export function ProgrammeProgress({ programme }: { programme: Programme }) {
  const queryClient = useQueryClient();
  const mayRun = useMay("sampling.run");
  const submission = useSubmission(cancelProgramme, { touches: ["sampling"] });
  useRefreshOnClash(submission.problem);
  const { progress, state } = programme;
  const isRunning = jobStep(state) === "stop";
  const wasRunning = useRef(isRunning);
  useEffect(() => {
    // The job's end makes the list of lots stale.
    if (wasRunning.current && !isRunning) {
      void queryClient.invalidateQueries({ queryKey: areaKey("sampling") });
      void queryClient.invalidateQueries({ queryKey: areaKey("groups") });
    }
    wasRunning.current = isRunning;
  }, [isRunning, queryClient]);
  if (jobStep(state) === "resume") {
    const hasFailed = state === "failed";
    return (
      <Notice
        tone={hasFailed ? "bad" : "warn"}
        title={hasFailed ? "The programme's job failed" : "The job was stopped"}
        isAnnounced={hasFailed}
      >
        <p>
          {hasFailed ? `${programme.failure ?? "No cause is on record."} ` : ""}What it has formed or drawn
          stays.
        </p>
        <ResumeJob programme={programme} />
      </Notice>
    );
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

/** Goes on with a job that ended before its time, for those who run programmes. */
function ResumeJob({ programme }: { programme: Programme }) {
  const mayRun = useMay("sampling.run");
  const submission = useSubmission(resumeProgramme, { touches: ["sampling"] });
  useRefreshOnClash(submission.problem);
  if (!mayRun) return <p>A quality engineer or a supervisor goes on with it.</p>;
  return (
    <>
      <SubmissionSummary submission={submission} names={{}} />
      <div>
        <Button
          isPending={submission.pending}
          onClick={() => void submission.submit({ params: { id: programme.id }, version: programme.version })}
        >
          {submission.pending ? "Going on" : "Go on with the job"}
        </Button>
      </div>
    </>
  );
}
