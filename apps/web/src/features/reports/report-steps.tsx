import {
  draftReport,
  type Report,
  releaseReport,
  reviewReport,
  signReport,
  withdrawReport,
} from "@sealbook/contract/reports";
import { useQueryClient } from "@tanstack/react-query";
import { useNavigate } from "@tanstack/react-router";
import { type FormEvent, useState } from "react";
import { newId } from "../../api/new-id.ts";
import { areaKey } from "../../api/operation-options.ts";
import { useAccount } from "../../api/use-account.ts";
import { useMay } from "../../api/use-may.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { paths } from "../../paths.ts";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { Button } from "../../ui/button.tsx";
import { Dialog } from "../../ui/dialog.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { focusOnArrival } from "../../ui/focus-on-arrival.ts";
import { Panel } from "../../ui/panel.tsx";
import { TextArea } from "../../ui/text-area.tsx";
import { TextField } from "../../ui/text-field.tsx";

/** What can be done with a report now, by the person who looks. */
export function ReportSteps({ report }: { report: Report }) {
  const mayPrepare = useMay("report.prepare");
  const [dialog, setDialog] = useState<"withdraw" | "correct" | null>(null);
  const [opened] = useState(report.state);
  if (!mayPrepare || report.state === "withdrawn") return null;
  const [hindrance] = report.hindrances;
  return (
    <Panel
      title={report.state === "released" ? "Correct it" : "Next step"}
      actions={
        report.state === "released" ? (
          report.correctedById === null ? (
            <Button onClick={() => setDialog("correct")}>Begin the next edition</Button>
          ) : undefined
        ) : (
          <Button onClick={() => setDialog("withdraw")}>Give the report up</Button>
        )
      }
    >
      <div key={report.state} tabIndex={-1} ref={report.state === opened ? undefined : focusOnArrival}>
        {report.state === "released" ? (
          <p>A released report never changes. A correction is another edition, which says what changed.</p>
        ) : hindrance !== undefined ? (
          <p>{hindrance.sentence}</p>
        ) : (
          <SignForm report={report} />
        )}
      </div>
      {dialog === "withdraw" ? <WithdrawDialog report={report} onDone={() => setDialog(null)} /> : null}
      {dialog === "correct" ? <CorrectDialog report={report} onDone={() => setDialog(null)} /> : null}
    </Panel>
  );
}

const steps = {
  draft: {
    operation: reviewReport,
    button: "Review and fix the figures",
    pending: "Counting and signing",
    sentence:
      "You sign that you have looked at these figures. They are counted once more and fixed as they stand now; what is recorded later goes into the next edition.",
  },
  reviewed: {
    operation: signReport,
    button: "Sign the report",
    pending: "Signing",
    sentence: "You sign the figures as they were fixed, as the one who prepared this report.",
  },
  signed: {
    operation: releaseReport,
    button: "Release the report",
    pending: "Releasing",
    sentence:
      "You release this report. Its document is made, the manifest of the period enters the ledger, and nothing of it changes any more.",
  },
} as const;

function SignForm({ report }: { report: Report }) {
  const step = report.state === "reviewed" || report.state === "signed" ? report.state : "draft";
  const { operation, button, pending, sentence } = steps[step];
  const { name } = useAccount();
  const [password, setPassword] = useState("");
  const [key, setKey] = useState(newId);
  const submission = useSubmission(operation);
  const save = async (event: FormEvent) => {
    event.preventDefault();
    if (password === "") {
      submission.refuse([{ pointer: "/password", detail: "Type your password: it is your signature." }]);
      return;
    }
    const reply = await submission.submit({ params: { id: report.id }, body: { password }, key });
    if (reply === null) {
      setPassword("");
      setKey(newId());
    }
  };
  return (
    <form className="stack" onSubmit={save}>
      <SubmissionSummary submission={submission} names={{ "/password": "Password" }} />
      <p>{sentence}</p>
      <div className="row-fields">
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
      </div>
      <div>
        <Button type="submit" kind="primary" isPending={submission.pending}>
          {submission.pending ? pending : button}
        </Button>
      </div>
    </form>
  );
}

function WithdrawDialog({ report, onDone }: { report: Report; onDone: () => void }) {
  const [reason, setReason] = useState("");
  const submission = useSubmission(withdrawReport);
  const submit = async (event: FormEvent) => {
    event.preventDefault();
    const reply = await submission.submit({ params: { id: report.id }, body: { reason: reason.trim() } });
    if (reply !== null) onDone();
  };
  return (
    <Dialog title="Give this report up?" onClose={onDone}>
      <form className="stack" onSubmit={submit}>
        <SubmissionSummary submission={submission} names={{ "/reason": "Reason" }} />
        <p>It stays on record as withdrawn.</p>
        <TextArea
          label="Reason"
          id={fieldId("/reason")}
          value={reason}
          onChange={setReason}
          error={submission.errorAt("/reason")}
          rows={2}
          maxLength={500}
        />
        <div className="dialog-buttons">
          <Button onClick={onDone}>Keep the report</Button>
          <Button type="submit" kind="danger" isPending={submission.pending}>
            Give it up
          </Button>
        </div>
      </form>
    </Dialog>
  );
}

function CorrectDialog({ report, onDone }: { report: Report; onDone: () => void }) {
  const [id] = useState(newId);
  const [reason, setReason] = useState("");
  const navigate = useNavigate();
  const queryClient = useQueryClient();
  const submission = useSubmission(draftReport);
  const submit = async (event: FormEvent) => {
    event.preventDefault();
    const reply = await submission.submit({
      body: { kind: "edition", id, correctsId: report.id, reason: reason.trim() },
    });
    if (reply === null) return;
    await queryClient.invalidateQueries({ queryKey: areaKey("reports") });
    onDone();
    await navigate({ to: paths.report(reply.id) });
  };
  return (
    <Dialog title="Begin the next edition?" onClose={onDone}>
      <form className="stack" onSubmit={submit}>
        <SubmissionSummary submission={submission} names={{ "/reason": "Reason" }} />
        <p>It counts the same period anew, takes late entries in, and says of every figure what changed.</p>
        <TextArea
          label="Reason"
          id={fieldId("/reason")}
          value={reason}
          onChange={setReason}
          error={submission.errorAt("/reason")}
          rows={2}
          maxLength={500}
        />
        <div className="dialog-buttons">
          <Button onClick={onDone}>Not now</Button>
          <Button type="submit" kind="primary" isPending={submission.pending}>
            Draft it
          </Button>
        </div>
      </form>
    </Dialog>
  );
}
