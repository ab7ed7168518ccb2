import { setPin } from "@sealbook/contract/people";
import { useQueryClient } from "@tanstack/react-query";
import { type FormEvent, useState } from "react";
import { sessionOptions } from "../../api/session-options.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { Button } from "../../ui/button.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { Notice } from "../../ui/notice.tsx";
import { TextField } from "../../ui/text-field.tsx";

/** Sets the signing PIN of the signed-in person. */
export function PinForm({ hasPin }: { hasPin: boolean }) {
  const queryClient = useQueryClient();
  const [pin, setTyped] = useState("");
  const [password, setPassword] = useState("");
  const [isSet, setIsSet] = useState(false);
  const submission = useSubmission(setPin);
  const save = async (event: FormEvent) => {
    event.preventDefault();
    setIsSet(false);
    if ((await submission.submit({ body: { pin, password } })) === null) return;
    setTyped("");
    setPassword("");
    setIsSet(true);
    await queryClient.invalidateQueries({ queryKey: sessionOptions.queryKey });
  };
  return (
    <form className="stack" onSubmit={save}>
      <p>The PIN confirms each signature under a test. Keep it to yourself: it stands for your name.</p>
      <SubmissionSummary
        submission={submission}
        names={{ "/pin": "New PIN", "/password": "Your password" }}
      />
      {isSet ? <Notice title="The PIN is set." isAnnounced /> : null}
      <div className="row-fields">
        <TextField
          label={hasPin ? "New PIN" : "PIN"}
          hint="4 to 8 digits"
          type="password"
          inputMode="numeric"
          autoComplete="off"
          id={fieldId("/pin")}
          value={pin}
          onChange={setTyped}
          error={submission.errorAt("/pin")}
          maxLength={8}
        />
        <TextField
          label="Your password"
          hint="Confirms that it is you"
          type="password"
          autoComplete="current-password"
          id={fieldId("/password")}
          value={password}
          onChange={setPassword}
          error={submission.errorAt("/password")}
        />
      </div>
      <div>
        <Button type="submit" isPending={submission.pending}>
          Set the PIN
        </Button>
      </div>
    </form>
  );
}
