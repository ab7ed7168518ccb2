import { dispositionNames } from "@sealbook/contract/lot-terms";
import { closeGroup, type Lot } from "@sealbook/contract/sampling";
import { type FormEvent, useState } from "react";
import { useMay } from "../../api/use-may.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { useRefreshOnClash } from "../../trade/lots/use-refresh-on-clash.ts";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { Button } from "../../ui/button.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { StatusMark } from "../../ui/status-mark.tsx";
import { TextArea } from "../../ui/text-area.tsx";

/** The end of a group: kept in service, or closed with a reason once all its corrective actions are done. */
export function CloseGroupPart({ lot }: { lot: Lot }) {
  const mayClose = useMay("sampling.decide");
  if (lot.disposition !== null) {
    return (
      <p>
        <StatusMark tone={lot.disposition === "tried-again" ? "neutral" : "good"}>
          {dispositionNames[lot.disposition]}
        </StatusMark>
      </p>
    );
  }
  if (lot.state !== "approved" || (lot.secondTry !== null && lot.secondTry.lotId !== null)) return null;
  if (lot.actions.length === 0) {
    return <p>The group was not accepted: set a corrective action. It closes once its actions are done.</p>;
  }
  if (lot.openActions > 0) return <p>The group closes once all its corrective actions are done.</p>;
  return mayClose ? (
    <CloseGroupForm lot={lot} />
  ) : (
    <p className="quiet">All actions are done: a quality engineer or a supervisor closes the group now.</p>
  );
}

function CloseGroupForm({ lot }: { lot: Lot }) {
  const [reason, setReason] = useState("");
  const submission = useSubmission(closeGroup, { touches: ["groups"] });
  useRefreshOnClash(submission.problem);
  const save = (event: FormEvent) => {
    event.preventDefault();
    void submission.submit({ params: { id: lot.id }, version: lot.version, body: { reason: reason.trim() } });
  };
  return (
    <form className="stack" onSubmit={save}>
      <SubmissionSummary submission={submission} names={{ "/reason": "Reason" }} />
      <p>All corrective actions are done. Once the group is closed none is added and none opens again.</p>
      <TextArea
        label="Reason"
        hint="Why what was done is enough"
        id={fieldId("/reason")}
        value={reason}
        onChange={setReason}
        error={submission.errorAt("/reason")}
        rows={2}
        maxLength={500}
      />
      <div>
        <Button type="submit" kind="primary" isPending={submission.pending}>
          {submission.pending ? "Closing" : "Close the group"}
        </Button>
      </div>
    </form>
  );
}
