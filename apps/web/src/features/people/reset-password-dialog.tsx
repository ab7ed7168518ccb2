import { type Account, resetPassword } from "@sealbook/contract/people";
import { type FormEvent, useState } from "react";
import { useSubmission } from "../../api/use-submission.ts";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { Button } from "../../ui/button.tsx";
import { Dialog } from "../../ui/dialog.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { TextArea } from "../../ui/text-area.tsx";
import { TextField } from "../../ui/text-field.tsx";

/** Sets a new password for somebody who has lost theirs; their sessions end. */
export function ResetPasswordDialog({ person, onDone }: { person: Account; onDone: () => void }) {
  const [password, setPassword] = useState("");
  const [reason, setReason] = useState("");
  const submission = useSubmission(resetPassword);
  const save = async (event: FormEvent) => {
    event.preventDefault();
    const reply = await submission.submit({
      params: { id: person.id },
      body: { password, reason: reason.trim() },
    });
    if (reply !== null) onDone();
  };
  return (
    <Dialog title={`New password for ${person.name}`} onClose={onDone}>
      <form className="stack" onSubmit={save}>
        <SubmissionSummary
          submission={submission}
          names={{ "/password": "New password", "/reason": "Reason" }}
        />
        <TextField
          label="New password"
          hint="At least 10 characters; their sessions end"
          type="password"
          autoComplete="new-password"
          id={fieldId("/password")}
          value={password}
          onChange={setPassword}
          error={submission.errorAt("/password")}
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
          <Button type="submit" kind="primary" isPending={submission.pending}>
            Set the password
          </Button>
        </div>
      </form>
    </Dialog>
  );
}
