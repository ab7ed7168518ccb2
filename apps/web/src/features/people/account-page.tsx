import { changePassword, setPin } from "@sealbook/contract/people";
import { roleNames } from "@sealbook/contract/permissions";
import { useQueryClient } from "@tanstack/react-query";
import { type FormEvent, useState } from "react";
import { sessionOptions } from "../../api/session-options.ts";
import { useAccount } from "../../api/use-account.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { Button } from "../../ui/button.tsx";
import { DefinitionList } from "../../ui/definition-list.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { Notice } from "../../ui/notice.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { Panel } from "../../ui/panel.tsx";
import { TextField } from "../../ui/text-field.tsx";

/** The signed-in person's own account: the signing PIN and the password. */
export function AccountPage() {
  const account = useAccount();
  return (
    <div className="stack">
      <PageHeader title={account.name} note="Your account" />
      <DefinitionList
        items={[
          { term: "Sign-in name", value: account.username },
          { term: "Role", value: roleNames[account.role] },
          { term: "Signing PIN", value: account.hasPin ? "set" : "not set yet" },
        ]}
      />
      <div className="columns">
        <Panel title="Signing PIN">
          <PinForm hasPin={account.hasPin} />
        </Panel>
        <Panel title="Password">
          <PasswordForm />
        </Panel>
      </div>
    </div>
  );
}

function PinForm({ hasPin }: { hasPin: boolean }) {
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

function PasswordForm() {
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
