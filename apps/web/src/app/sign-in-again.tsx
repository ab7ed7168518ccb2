import { openSession } from "@sealbook/contract/people";
import { useQueryClient } from "@tanstack/react-query";
import { type FormEvent, useState, useSyncExternalStore } from "react";
import { sessionOptions } from "../api/session-options.ts";
import { useAccount } from "../api/use-account.ts";
import { useSubmission } from "../api/use-submission.ts";
import { paths } from "../paths.ts";
import { SubmissionSummary } from "../trade/submission-summary.tsx";
import { Button } from "../ui/button.tsx";
import { Dialog } from "../ui/dialog.tsx";
import { fieldId } from "../ui/field-id.ts";
import { TextField } from "../ui/text-field.tsx";
import { isSessionEnded, noticeOpenedSession, subscribeToSession } from "./session-ended.ts";

/** Asks for the password when the session has ended; the page and what was typed stay underneath. */
export function SignInAgain() {
  const isEnded = useSyncExternalStore(subscribeToSession, isSessionEnded);
  return isEnded ? <SignInAgainDialog /> : null;
}

function SignInAgainDialog() {
  const account = useAccount();
  const queryClient = useQueryClient();
  const submission = useSubmission(openSession);
  const [password, setPassword] = useState("");
  const submit = async (event: FormEvent) => {
    event.preventDefault();
    const session = await submission.submit({ body: { username: account.username, password } });
    if (session === null) return;
    queryClient.setQueryData(sessionOptions.queryKey, session);
    noticeOpenedSession();
    await queryClient.invalidateQueries();
  };
  return (
    <Dialog title="Your session has ended" onClose={() => undefined} mayDismiss={false}>
      <form className="stack" onSubmit={submit}>
        <p>
          Sign in again as {account.name} to go on. What you typed is still on the page underneath; save it
          again afterwards.
        </p>
        <SubmissionSummary submission={submission} names={{ "/password": "Password" }} />
        <TextField
          label="Password"
          type="password"
          autoComplete="current-password"
          autoFocus
          id={fieldId("/password")}
          value={password}
          onChange={setPassword}
          error={submission.errorAt("/password")}
        />
        <div className="dialog-buttons">
          <a className="button button-quiet" href={paths.signIn()}>
            Sign in as someone else
          </a>
          <Button type="submit" kind="primary" isPending={submission.pending}>
            Sign in
          </Button>
        </div>
      </form>
    </Dialog>
  );
}
