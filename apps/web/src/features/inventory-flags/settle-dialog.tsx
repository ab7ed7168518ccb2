import { type InventoryFlag, settleInventoryFlag } from "@sealbook/contract/inventory-flags";
import { type FormEvent, useState } from "react";
import { newId } from "../../api/new-id.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { Button } from "../../ui/button.tsx";
import { Dialog } from "../../ui/dialog.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { TextArea } from "../../ui/text-area.tsx";

/** Says of a finding that it is right as it is, and why. */
export function SettleDialog({ flag, onDone }: { flag: InventoryFlag; onDone: () => void }) {
  const [id] = useState(newId);
  const [reason, setReason] = useState("");
  const submission = useSubmission(settleInventoryFlag);
  const submit = async (event: FormEvent) => {
    event.preventDefault();
    const reply = await submission.submit({
      params: { number: flag.number },
      body: { id, reason: reason.trim() },
    });
    if (reply !== null) onDone();
  };
  return (
    <Dialog title="It is right as it is" onClose={onDone}>
      <form className="stack" onSubmit={submit}>
        <SubmissionSummary submission={submission} names={{ "/reason": "Reason" }} />
        <p>{flag.sentence}</p>
        <TextArea
          label="Why it is right"
          id={fieldId("/reason")}
          value={reason}
          onChange={setReason}
          error={submission.errorAt("/reason")}
          rows={2}
          maxLength={500}
        />
        <div className="dialog-buttons">
          <Button onClick={onDone}>Cancel</Button>
          <Button type="submit" kind="primary" isPending={submission.pending}>
            Settle it
          </Button>
        </div>
      </form>
    </Dialog>
  );
}
