import type { Lot } from "@sealbook/contract/sampling";
import { returnShipment } from "@sealbook/contract/shipments";
import { type FormEvent, useState } from "react";
import { useSubmission } from "../../api/use-submission.ts";
import { useRefreshOnClash } from "../../trade/lots/use-refresh-on-clash.ts";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { Button } from "../../ui/button.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { TextArea } from "../../ui/text-area.tsx";

/** Sends a shipment back to its maker. */
export function ReturnForm({ lot, onCancel }: { lot: Lot; onCancel: () => void }) {
  const [reason, setReason] = useState("");
  const submission = useSubmission(returnShipment, { touches: ["sampling", "meters"] });
  useRefreshOnClash(submission.problem);
  const save = (event: FormEvent) => {
    event.preventDefault();
    void submission.submit({ params: { id: lot.id }, version: lot.version, body: { reason: reason.trim() } });
  };
  return (
    <form className="stack" onSubmit={save}>
      <SubmissionSummary submission={submission} names={{ "/reason": "Reason" }} />
      <p>
        All {lot.counts.members} meters leave the inventory. They stay on record with their tests; this cannot
        be undone.
      </p>
      <TextArea
        label="Reason"
        id={fieldId("/reason")}
        value={reason}
        onChange={setReason}
        error={submission.errorAt("/reason")}
        rows={2}
        maxLength={500}
      />
      <div className="row">
        <Button type="submit" kind="danger" isPending={submission.pending}>
          {submission.pending ? "Returning" : "Return all to the maker"}
        </Button>
        <Button onClick={onCancel}>Cancel</Button>
      </div>
    </form>
  );
}
