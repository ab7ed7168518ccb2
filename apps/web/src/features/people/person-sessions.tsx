import {
  type Account,
  endSessionsOfPerson,
  listSessionsOfPerson,
  type OpenSessionView,
} from "@sealbook/contract/people";
import { useQuery } from "@tanstack/react-query";
import { useState } from "react";
import { operationOptions } from "../../api/operation-options.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { ProblemNotice } from "../../trade/problem-notice.tsx";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { Button } from "../../ui/button.tsx";
import { Panel } from "../../ui/panel.tsx";
import { Waiting } from "../../ui/waiting.tsx";
import { browserName } from "./browser-name.ts";
import { ReasonDialog } from "./reason-dialog.tsx";
import { SessionsTable } from "./sessions-table.tsx";

/** A person's open sessions, for an administrator to end. */
export function PersonSessions({ person }: { person: Account }) {
  const sessions = useQuery(operationOptions(listSessionsOfPerson, { params: { id: person.id } }));
  const [ending, setEnding] = useState<OpenSessionView | "all" | null>(null);
  return (
    <Panel
      title="Sessions"
      actions={
        (sessions.data?.rows.length ?? 0) > 1 ? (
          <Button onClick={() => setEnding("all")}>End all of them</Button>
        ) : undefined
      }
    >
      {sessions.data !== undefined ? (
        <SessionsTable
          rows={sessions.data.rows}
          caption={`Open sessions of ${person.name}, newest first`}
          isPending={false}
          onEnd={setEnding}
        />
      ) : sessions.error === null ? (
        <Waiting what="the sessions" />
      ) : (
        <ProblemNotice error={sessions.error} onRetry={() => void sessions.refetch()} />
      )}
      {ending === null ? null : (
        <EndSessions person={person} session={ending} onDone={() => setEnding(null)} />
      )}
    </Panel>
  );
}

function EndSessions({
  person,
  session,
  onDone,
}: {
  person: Account;
  session: OpenSessionView | "all";
  onDone: () => void;
}) {
  const submission = useSubmission(endSessionsOfPerson);
  const end = async (reason: string) => {
    const reply = await submission.submit({
      params: { id: person.id },
      body: { sessionId: session === "all" ? null : session.id, reason },
    });
    // An empty success is undefined; a refusal is null.
    if (reply !== null) onDone();
  };
  return (
    <ReasonDialog
      title={
        session === "all" ? `End all sessions of ${person.name}?` : `End this session of ${person.name}?`
      }
      deed={session === "all" ? "End them all" : "End it"}
      summary={<SubmissionSummary submission={submission} names={{ "/reason": "Reason" }} />}
      error={submission.errorAt("/reason")}
      isPending={submission.pending}
      onSubmit={(reason) => void end(reason)}
      onDone={onDone}
    >
      <p>
        {session === "all" ? "Every device" : browserName(session.browser)} is asked to sign in again at the
        next step. What was typed there stays on the screen.
      </p>
    </ReasonDialog>
  );
}
