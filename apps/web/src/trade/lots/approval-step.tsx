import { approveDecision, type Decision, type Lot } from "@sealbook/contract/sampling";
import { Link } from "@tanstack/react-router";
import { type FormEvent, useState } from "react";
import { newId } from "../../api/new-id.ts";
import { useAccount } from "../../api/use-account.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { paths } from "../../paths.ts";
import { Button } from "../../ui/button.tsx";
import { Empty } from "../../ui/empty.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { Notice } from "../../ui/notice.tsx";
import { StatusMark } from "../../ui/status-mark.tsx";
import { TextArea } from "../../ui/text-area.tsx";
import { TextField } from "../../ui/text-field.tsx";
import { LocalInstant } from "../local-instant.tsx";
import { PersonName } from "../person-name.tsx";
import { SubmissionSummary } from "../submission-summary.tsx";
import { LotStep } from "./lot-step.tsx";
import { useRefreshOnClash } from "./use-refresh-on-clash.ts";

/** The approval by someone who had no hand in the sample; whoever may not approve sees why. */
export function ApprovalStep({ lot, number }: { lot: Lot; number: number }) {
  const { decision } = lot;
  return (
    <LotStep number={number} title="Approval" isAhead={decision === null}>
      {decision === null ? (
        <Empty title="The decision is approved by someone who tested none of the sample." />
      ) : decision.approval !== null ? (
        <Approved approval={decision.approval} />
      ) : lot.hindrances.length > 0 ? (
        <Hindered lot={lot} />
      ) : (
        <ApprovalForm lot={lot} decision={decision} />
      )}
    </LotStep>
  );
}

function Approved({ approval }: { approval: NonNullable<Decision["approval"]> }) {
  return (
    <>
      <p>
        <StatusMark tone="good">Approved</StatusMark> by <PersonName person={approval.person} />,{" "}
        <LocalInstant instant={approval.signedAt} />,{" "}
        <Link to={paths.ledgerEntry(approval.entryId)}>ledger entry</Link>
      </p>
      {approval.note === "" ? null : <p>{approval.note}</p>}
      <p className="quiet small">
        Signed: {approval.meaning}. Hash of the decision signed:{" "}
        <code className="lot-hash">{approval.recordHash}</code>
      </p>
    </>
  );
}

function Hindered({ lot }: { lot: Lot }) {
  return (
    <Notice tone="warn" title="You may not approve this decision">
      <ul>
        {lot.hindrances.map((hindrance) => (
          <li key={hindrance.sentence}>
            {hindrance.sentence}{" "}
            {hindrance.testId === null ? null : (
              <Link to={paths.test(hindrance.testId)}>
                The test{hindrance.utilityNumber === null ? "" : ` of meter ${hindrance.utilityNumber}`}
              </Link>
            )}
          </li>
        ))}
      </ul>
      <p>Ask a quality engineer or a supervisor who had no hand in the sample.</p>
    </Notice>
  );
}

function ApprovalForm({ lot, decision }: { lot: Lot; decision: Decision }) {
  const { name } = useAccount();
  const [id] = useState(newId);
  const [password, setPassword] = useState("");
  const [note, setNote] = useState("");
  const submission = useSubmission(approveDecision, { touches: ["groups", "shipments"] });
  useRefreshOnClash(submission.problem);
  const save = async (event: FormEvent) => {
    event.preventDefault();
    if (password === "") {
      submission.refuse([{ pointer: "/password", detail: "Type your password: it signs the approval." }]);
      return;
    }
    const reply = await submission.submit({
      params: { id: lot.id },
      body: { id, password, note: note.trim() },
    });
    if (reply === null) setPassword("");
  };
  return (
    <form className="stack" onSubmit={save}>
      <SubmissionSummary submission={submission} names={{ "/password": "Password", "/note": "Note" }} />
      <p>
        You sign that you have looked at the sample, its results and the arithmetic, and that you tested none
        of it. Hash of the decision: <code className="lot-hash">{decision.recordHash}</code>
      </p>
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
        <TextArea
          label="Note"
          optional
          id={fieldId("/note")}
          value={note}
          onChange={setNote}
          error={submission.errorAt("/note")}
          rows={1}
          maxLength={1000}
        />
      </div>
      <div>
        <Button type="submit" kind="primary" isPending={submission.pending}>
          {submission.pending ? "Signing" : "Approve and sign"}
        </Button>
      </div>
    </form>
  );
}
