import { acceptHistory, getLostHistory, type LostHistory } from "@sealbook/contract/log-heads";
import { useSuspenseQuery } from "@tanstack/react-query";
import { type FormEvent, useState } from "react";
import { operationOptions } from "../../api/operation-options.ts";
import { useAccount } from "../../api/use-account.ts";
import { useMay } from "../../api/use-may.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { LocalInstant } from "../../trade/local-instant.tsx";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { Button } from "../../ui/button.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { Panel } from "../../ui/panel.tsx";
import { TextArea } from "../../ui/text-area.tsx";
import { TextField } from "../../ui/text-field.tsx";

/** What an administrator is told and signs when a head that left is not under the log; nothing otherwise. */
export function LostHistoryPanel() {
  const { data } = useSuspenseQuery(operationOptions(getLostHistory, {}));
  const mayManage = useMay("log.manage");
  if (data.lost === null) return null;
  return (
    <Panel title="A part of the history is lost">
      <WhatIsKnown lost={data.lost} />
      {mayManage ? <SignForm lost={data.lost} /> : <p>An administrator signs what happened.</p>}
    </Panel>
  );
}

function WhatIsKnown({ lost }: { lost: LostHistory }) {
  const fewer = lost.size - lost.foundSize;
  return (
    <>
      <p>
        A signed head of {lost.size.toLocaleString("en-US")} entries has left this database, and the log does
        not lead to it:{" "}
        {fewer > 0
          ? `it had ${lost.foundSize.toLocaleString("en-US")} entries`
          : "an entry under it is another"}{" "}
        when that was found out, <LocalInstant instant={lost.foundAt} />. Either an older backup was put back,
        or somebody changed the log.
      </p>
      <details>
        <summary>The head that left</summary>
        <pre className="ledger-payload ledger-text">{lost.note}</pre>
      </details>
    </>
  );
}

function SignForm({ lost }: { lost: LostHistory }) {
  const { name } = useAccount();
  const [password, setPassword] = useState("");
  const [reason, setReason] = useState("");
  const submission = useSubmission(acceptHistory);
  const save = async (event: FormEvent) => {
    event.preventDefault();
    if (password === "") {
      submission.refuse([{ pointer: "/password", detail: "Type your password: it signs what happened." }]);
      return;
    }
    const reply = await submission.submit({
      params: { id: lost.id },
      body: { password, reason: reason.trim() },
    });
    if (reply === null) setPassword("");
  };
  return (
    <form className="stack" onSubmit={save}>
      <SubmissionSummary
        submission={submission}
        names={{ "/password": "Password", "/reason": "What happened" }}
      />
      <p>
        If a newer backup exists, restore that one instead. What you sign goes into ledger and log with the
        head that is lost, so that whoever holds it finds out why. Then work goes on from the history that is
        here.
      </p>
      <TextArea
        label="What happened"
        id={fieldId("/reason")}
        value={reason}
        onChange={setReason}
        error={submission.errorAt("/reason")}
        rows={3}
        maxLength={500}
      />
      <TextField
        label={`Password of ${name}`}
        type="password"
        autoComplete="current-password"
        id={fieldId("/password")}
        value={password}
        onChange={setPassword}
        error={submission.errorAt("/password")}
        maxLength={200}
      />
      <div>
        <Button type="submit" kind="primary" isPending={submission.pending}>
          {submission.pending ? "Signing" : "Sign what happened"}
        </Button>
      </div>
    </form>
  );
}
