import { type Lot, withdrawLot } from "@sealbook/contract/sampling";
import { type FormEvent, useState } from "react";
import { useSubmission } from "../../api/use-submission.ts";
import { Button } from "../../ui/button.tsx";
import { Dialog } from "../../ui/dialog.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { TextArea } from "../../ui/text-area.tsx";
import { SubmissionSummary } from "../submission-summary.tsx";
import { useRefreshOnClash } from "./use-refresh-on-clash.ts";

/** Gives a lot up before its draw. */
export function WithdrawLotDialog({ lot, onDone }: { lot: Lot; onDone: () => void }) {
  const [reason, setReason] = useState("");
  const submission = useSubmission(withdrawLot, { touches: ["groups"] });
  useRefreshOnClash(submission.problem);
  const submit = async (event: FormEvent) => {
    event.preventDefault();
    const reply = await submission.submit({
      params: { id: lot.id },
      version: lot.version,
      body: { reason: reason.trim() },
    });
    if (reply !== null) onDone();
  };
  return (
    <Dialog title={`Give lot ${lot.number} up?`} onClose={onDone}>
      <form className="stack" onSubmit={submit}>
        <SubmissionSummary submission={submission} names={{ "/reason": "Reason" }} />
        <p>The lot stays on record as withdrawn; its meters are free for another.</p>
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
          <Button onClick={onDone}>Keep the lot</Button>
          <Button type="submit" kind="danger" isPending={submission.pending}>
            Give it up
          </Button>
        </div>
      </form>
    </Dialog>
  );
}
