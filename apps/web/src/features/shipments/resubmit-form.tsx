import type { Lot } from "@sealbook/contract/sampling";
import { listUnmended, resubmitShipment } from "@sealbook/contract/shipments";
import { useQuery } from "@tanstack/react-query";
import { useNavigate } from "@tanstack/react-router";
import { type FormEvent, useState } from "react";
import { newId } from "../../api/new-id.ts";
import { operationOptions } from "../../api/operation-options.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { paths } from "../../paths.ts";
import { useRefreshOnClash } from "../../trade/lots/use-refresh-on-clash.ts";
import { numbersInText } from "../../trade/numbers-in-text.ts";
import { ProblemNotice } from "../../trade/problem-notice.tsx";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { Button } from "../../ui/button.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { TextArea } from "../../ui/text-area.tsx";
import { TextField } from "../../ui/text-field.tsx";
import { Waiting } from "../../ui/waiting.tsx";

const names = {
  "/number": "Number of the new lot",
  "/leftOut": "Taken out by screening",
  "/reason": "Reason",
};

/** Submits what screening left of a shipment as a new lot. */
export function ResubmitForm({ lot, onCancel }: { lot: Lot; onCancel: () => void }) {
  const unmended = useQuery(operationOptions(listUnmended, { params: { id: lot.id } }));
  if (unmended.data === undefined) {
    if (unmended.error === null) return <Waiting what="the meters known to be nonconforming" />;
    return <ProblemNotice error={unmended.error} onRetry={() => void unmended.refetch()} />;
  }
  return <Form lot={lot} unmended={unmended.data.utilityNumbers} onCancel={onCancel} />;
}

/** The form; what is known to be nonconforming stands in it already. */
function Form({ lot, unmended, onCancel }: { lot: Lot; unmended: readonly string[]; onCancel: () => void }) {
  const navigate = useNavigate();
  const [id] = useState(newId);
  const [number, setNumber] = useState(`${lot.number}-2`);
  const [leftOut, setLeftOut] = useState(unmended.join("\n"));
  const [reason, setReason] = useState("");
  const submission = useSubmission(resubmitShipment, { touches: ["sampling", "meters"] });
  useRefreshOnClash(submission.problem);
  const save = async (event: FormEvent) => {
    event.preventDefault();
    const reply = await submission.submit({
      params: { id: lot.id },
      body: { id, number: number.trim(), leftOut: numbersInText(leftOut), reason: reason.trim() },
    });
    if (reply !== null) await navigate({ to: paths.shipment(reply.id) });
  };
  return (
    <form className="stack" onSubmit={save}>
      <SubmissionSummary submission={submission} names={names} />
      <p>
        What screening leaves becomes a new lot that names this one. It is judged like any other, but does not
        count for switching.
      </p>
      <div className="row-fields">
        <TextField
          label="Number of the new lot"
          id={fieldId("/number")}
          value={number}
          onChange={setNumber}
          error={submission.errorAt("/number")}
          maxLength={40}
        />
      </div>
      <TextArea
        label="Taken out by screening"
        optional
        hint={
          unmended.length === 0
            ? "Utility numbers, one a line or divided by commas"
            : `Utility numbers, one a line or divided by commas. ${unmended.length === 1 ? "One sampled meter stands here" : `${unmended.length} sampled meters stand here`} already: known to be nonconforming, with no passing test after mending.`
        }
        id={fieldId("/leftOut")}
        value={leftOut}
        onChange={setLeftOut}
        error={submission.errorAt("/leftOut")}
        rows={3}
      />
      <TextArea
        label="Reason"
        hint="How the lot was screened"
        id={fieldId("/reason")}
        value={reason}
        onChange={setReason}
        error={submission.errorAt("/reason")}
        rows={2}
        maxLength={500}
      />
      <div className="row">
        <Button type="submit" kind="primary" isPending={submission.pending}>
          {submission.pending ? "Submitting" : "Submit the rest as a new lot"}
        </Button>
        <Button onClick={onCancel}>Cancel</Button>
      </div>
    </form>
  );
}
