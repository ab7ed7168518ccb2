import { forgetCalibrator } from "@sealbook/contract/people";
import { type FormEvent, useState } from "react";
import { useSubmission } from "../../api/use-submission.ts";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { Button } from "../../ui/button.tsx";
import { Dialog } from "../../ui/dialog.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { TextArea } from "../../ui/text-area.tsx";
import { TextField } from "../../ui/text-field.tsx";

/** Erases the name of somebody without an account whom certificates name as their calibrator. */
export function ForgetCalibratorDialog({ onDone }: { onDone: () => void }) {
  const [name, setName] = useState("");
  const [reason, setReason] = useState("");
  const [calibrations, setCalibrations] = useState<number | null>(null);
  const submission = useSubmission(forgetCalibrator, { touches: ["standards"] });
  const save = async (event: FormEvent) => {
    event.preventDefault();
    const reply = await submission.submit({ body: { name: name.trim(), reason: reason.trim() } });
    if (reply !== null) setCalibrations(reply.calibrations);
  };
  if (calibrations !== null) {
    return (
      <Dialog title="The name is erased" onClose={onDone} buttons={<Button onClick={onDone}>Close</Button>}>
        <p>
          {calibrations === 1 ? "One calibration says" : `${calibrations} calibrations say`} “erased” in its
          place. A certificate that was kept as a file is not changed by this.
        </p>
      </Dialog>
    );
  }
  return (
    <Dialog title="Forget a calibrator" onClose={onDone}>
      <form className="stack" onSubmit={save}>
        <p>
          For somebody of a laboratory, without an account here, who asked to be forgotten. The name is erased
          for good from every calibration that it stands under.
        </p>
        <SubmissionSummary submission={submission} names={{ "/name": "Name", "/reason": "Reason" }} />
        <TextField
          label="Name"
          hint="As the calibrations show it"
          id={fieldId("/name")}
          value={name}
          onChange={setName}
          error={submission.errorAt("/name")}
          maxLength={120}
          autoFocus
        />
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
          <Button onClick={onDone}>Cancel</Button>
          <Button type="submit" kind="danger" isPending={submission.pending}>
            Erase the name for good
          </Button>
        </div>
      </form>
    </Dialog>
  );
}
