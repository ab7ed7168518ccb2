import { type Account, resetPassword } from "@sealbook/contract/people";
import { type FormEvent, useState } from "react";
import { useSubmission } from "../../api/use-submission.ts";
import { LocalInstant } from "../../trade/local-instant.tsx";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { Button } from "../../ui/button.tsx";
import { Dialog } from "../../ui/dialog.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { TextArea } from "../../ui/text-area.tsx";
import { ShownOnce } from "./shown-once.tsx";

/** Gives a one-time password to somebody who has lost theirs; their sessions and API tokens end. */
export function ResetPasswordDialog({ person, onDone }: { person: Account; onDone: () => void }) {
  const [reason, setReason] = useState("");
  const [given, setGiven] = useState<{ password: string; until: string } | null>(null);
  const submission = useSubmission(resetPassword);
  const save = async (event: FormEvent) => {
    event.preventDefault();
    const reply = await submission.submit({ params: { id: person.id }, body: { reason: reason.trim() } });
    if (reply !== null) setGiven(reply);
  };
  if (given !== null) {
    return (
      <ShownOnce title={`One-time password for ${person.name}`} secret={given.password} onDone={onDone}>
        <p>
          Tell it to {person.name} in person. It opens nothing but its own change, and runs out on{" "}
          <LocalInstant instant={given.until} />.
        </p>
      </ShownOnce>
    );
  }
  return (
    <Dialog title={`New password for ${person.name}`} onClose={onDone}>
      <form className="stack" onSubmit={save}>
        <SubmissionSummary submission={submission} names={{ "/reason": "Reason" }} />
        <p>
          {person.name}’s present password stops working, and their sessions and API tokens end: a bench that
          works with such a token needs a new one. You are shown a one-time password; they choose their own
          with it.
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
          <Button onClick={onDone}>Cancel</Button>
          <Button type="submit" kind="primary" isPending={submission.pending}>
            Give a one-time password
          </Button>
        </div>
      </form>
    </Dialog>
  );
}
