import {
  type DrawEvent,
  type DrawUnit,
  drawEventNames,
  takeBackDrawEvent,
} from "@sealbook/contract/follow-up";
import type { Lot } from "@sealbook/contract/sampling";
import { type FormEvent, useState } from "react";
import { newId } from "../../api/new-id.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { Button } from "../../ui/button.tsx";
import { Dialog } from "../../ui/dialog.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { TextArea } from "../../ui/text-area.tsx";
import { SubmissionSummary } from "../submission-summary.tsx";
import { useRefreshOnClash } from "./use-refresh-on-clash.ts";

/** Takes a follow-up back that was recorded in error. */
export function TakeBackDialog({
  lot,
  unit,
  event,
  onDone,
  onClose,
}: {
  lot: Lot;
  unit: DrawUnit;
  event: DrawEvent;
  onDone: () => void;
  onClose: () => void;
}) {
  const [id] = useState(newId);
  const [reason, setReason] = useState("");
  const submission = useSubmission(takeBackDrawEvent, { touches: ["groups", "workItems"] });
  useRefreshOnClash(submission.problem);
  const submit = async (pressed: FormEvent) => {
    pressed.preventDefault();
    const reply = await submission.submit({
      params: { id: lot.id },
      body: { id, eventId: event.id, reason: reason.trim() },
    });
    if (reply !== null) onDone();
  };
  return (
    <Dialog title={`Take back: ${drawEventNames[event.kind]}, meter ${unit.utilityNumber}`} onClose={onClose}>
      <form className="stack" onSubmit={submit}>
        <SubmissionSummary submission={submission} names={{ "/reason": "Reason" }} />
        <p>
          It stays on record, struck through with your reason. A spare that it called up goes back unless it
          is tested.
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
        <div className="dialog-buttons">
          <Button onClick={onClose}>Leave it as it is</Button>
          <Button type="submit" kind="danger" isPending={submission.pending}>
            Take it back
          </Button>
        </div>
      </form>
    </Dialog>
  );
}
