import { type Account, forgetPerson } from "@sealbook/contract/people";
import { type FormEvent, useState } from "react";
import { useSubmission } from "../../api/use-submission.ts";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { Button } from "../../ui/button.tsx";
import { Dialog } from "../../ui/dialog.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { TextArea } from "../../ui/text-area.tsx";

/** Erases a person's name for good, where somebody has asked to be forgotten. */
export function ForgetPersonDialog({ person, onDone }: { person: Account; onDone: () => void }) {
  const [reason, setReason] = useState("");
  const submission = useSubmission(forgetPerson, { touches: ["meterTests", "meters"] });
  const save = async (event: FormEvent) => {
    event.preventDefault();
    const reply = await submission.submit({ params: { id: person.id }, body: { reason: reason.trim() } });
    if (reply !== null) onDone();
  };
  return (
    <Dialog title={`Forget ${person.name}?`} onClose={onDone}>
      <form className="stack" onSubmit={save}>
        <p>
          The name is erased for good and cannot be brought back. Tests and ledger entries stay, say “erased”
          in its place, and still verify.
        </p>
        <SubmissionSummary submission={submission} names={{ "/reason": "Reason" }} />
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
