import { endOwnSession, listOwnSessions } from "@sealbook/contract/people";
import { useQuery } from "@tanstack/react-query";
import { operationOptions } from "../../api/operation-options.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { ProblemNotice } from "../../trade/problem-notice.tsx";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { Waiting } from "../../ui/waiting.tsx";
import { SessionsTable } from "./sessions-table.tsx";

/** One's own sessions: a tablet that was left behind is signed out from here. */
export function OwnSessions() {
  const sessions = useQuery(operationOptions(listOwnSessions, {}));
  const submission = useSubmission(endOwnSession);
  if (sessions.data === undefined) {
    return sessions.error === null ? (
      <Waiting what="your sessions" />
    ) : (
      <ProblemNotice error={sessions.error} onRetry={() => void sessions.refetch()} />
    );
  }
  return (
    <>
      <SubmissionSummary submission={submission} names={{}} />
      <SessionsTable
        rows={sessions.data.rows}
        caption="Your open sessions, newest first"
        isPending={submission.pending}
        onEnd={({ id }) => void submission.submit({ params: { id } })}
      />
    </>
  );
}
