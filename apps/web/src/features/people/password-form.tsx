import { changePassword } from "@sealbook/contract/people";
import { useQueryClient } from "@tanstack/react-query";
import { type FormEvent, useState } from "react";
import { sessionOptions } from "../../api/session-options.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { Button } from "../../ui/button.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { Notice } from "../../ui/notice.tsx";
import { TextField } from "../../ui/text-field.tsx";

/** Changes the password of the signed-in person. */
export function PasswordForm() {
  const queryClient = useQueryClient();
  const [currentPassword, setCurrent] = useState("");
  const [newPassword, setNew] = useState("");
  const [again, setAgain] = useState("");
  const [isSet, setIsSet] = useState(false);
  const submission = useSubmission(changePassword);
  const save = async (event: FormEvent) => {
    event.preventDefault();
    setIsSet(false);
    if (again !== newPassword) {
      submission.refuse([{ pointer: "/again", detail: "This is not the same as the new password." }]);
      return;
    }
    if ((await submission.submit({ body: { currentPassword, newPassword } })) === null) return;
    setCurrent("");
    setNew("");
    setAgain("");
    setIsSet(true);
    await queryClient.invalidateQueries({ queryKey: sessionOptions.queryKey });
  };
  return (
    <form className="stack" onSubmit={save}>
      <p>Your other sessions end when the password changes.</p>
      <SubmissionSummary
        submission={submission}
        names={{
          "/currentPassword": "Present password",
          "/newPassword": "New password",
          "/again": "New password again",
        }}
      />
      {isSet ? <Notice title="The password is changed." isAnnounced /> : null}
      <div className="row-fields">
        <TextField
          label="Present password"
          type="password"
          autoComplete="current-password"
          id={fieldId("/currentPassword")}
          value={currentPassword}
          onChange={setCurrent}
          error={submission.errorAt("/currentPassword")}
        />
        <TextField
          label="New password"
          hint="At least 10 characters"
          type="password"
          autoComplete="new-password"
          id={fieldId("/newPassword")}
          value={newPassword}
          onChange={setNew}
          error={submission.errorAt("/newPassword")}
        />
        <TextField
          label="New password again"
          type="password"
          autoComplete="new-password"
          id={fieldId("/again")}
          value={again}
          onChange={setAgain}
          error={submission.errorAt("/again")}
        />
      </div>
      <div>
        <Button type="submit" isPending={submission.pending}>
          Change the password
        </Button>
      </div>
    </form>
  );
}
