import { type StoryEvent, takeBackMeterEvent } from "@sealbook/contract/meter-events";
import { type Meter, meterEventNames } from "@sealbook/contract/meters";
import { type FormEvent, useState } from "react";
import { newId } from "../../api/new-id.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { Button } from "../../ui/button.tsx";
import { Dialog } from "../../ui/dialog.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { TextArea } from "../../ui/text-area.tsx";
import { touchedByMoves } from "./touched-by-moves.ts";

/** Takes an event back that was recorded in error. */
export function TakeBackEventDialog({
  meter,
  event,
  onDone,
}: {
  meter: Meter;
  event: StoryEvent;
  onDone: () => void;
}) {
  const [id] = useState(newId);
  const [reason, setReason] = useState("");
  const submission = useSubmission(takeBackMeterEvent, { touches: touchedByMoves });
  const submit = async (pressed: FormEvent) => {
    pressed.preventDefault();
    const reply = await submission.submit({ params: { id: event.id }, body: { id, reason: reason.trim() } });
    if (reply !== null) onDone();
  };
  return (
    <Dialog
      title={`Take back: ${meterEventNames[event.event]}, meter ${meter.utilityNumber}`}
      onClose={onDone}
    >
      <form className="stack" onSubmit={submit}>
        <SubmissionSummary submission={submission} names={{ "/reason": "Reason" }} />
        <p>
          It stays in the story, struck through with your reason; the meter goes back to where it was before.
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
          <Button onClick={onDone}>Leave it as it is</Button>
          <Button type="submit" kind="danger" isPending={submission.pending}>
            Take it back
          </Button>
        </div>
      </form>
    </Dialog>
  );
}
