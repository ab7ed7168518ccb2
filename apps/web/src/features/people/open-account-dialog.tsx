import { createPerson } from "@sealbook/contract/people";
import { type Role, roleNames, roles } from "@sealbook/contract/permissions";
import { type FormEvent, useState } from "react";
import { newId } from "../../api/new-id.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { Button } from "../../ui/button.tsx";
import { Dialog } from "../../ui/dialog.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { Select } from "../../ui/select.tsx";
import { TextField } from "../../ui/text-field.tsx";

const names = {
  "/name": "Name",
  "/username": "Sign-in name",
  "/role": "Role",
  "/password": "First password",
};

/** Opens an account for a person of the shop. */
export function OpenAccountDialog({ onDone }: { onDone: () => void }) {
  const [id] = useState(newId);
  const [name, setName] = useState("");
  const [username, setUsername] = useState("");
  const [role, setRole] = useState<Role | "">("");
  const [password, setPassword] = useState("");
  const submission = useSubmission(createPerson);
  const save = async (event: FormEvent) => {
    event.preventDefault();
    const reply = await submission.submit({
      // The contract's check names a role that was not chosen.
      body: { id, name: name.trim(), username: username.trim(), role: role as Role, password },
    });
    if (reply !== null) onDone();
  };
  return (
    <Dialog title="Open an account" onClose={onDone}>
      <form className="stack" onSubmit={save}>
        <SubmissionSummary submission={submission} names={names} />
        <TextField
          label="Name"
          hint="As it is printed under signatures"
          id={fieldId("/name")}
          value={name}
          onChange={setName}
          error={submission.errorAt("/name")}
          maxLength={120}
          autoFocus
        />
        <TextField
          label="Sign-in name"
          hint="Small letters and digits, a letter first"
          id={fieldId("/username")}
          value={username}
          onChange={setUsername}
          error={submission.errorAt("/username")}
          maxLength={40}
        />
        <Select
          label="Role"
          id={fieldId("/role")}
          value={role}
          onChange={setRole}
          placeholder="Choose a role"
          options={roles.map((one) => ({ value: one, label: roleNames[one] }))}
          error={submission.errorAt("/role")}
        />
        <TextField
          label="First password"
          hint="At least 10 characters. It is changed at its first use, and runs out after three days"
          type="password"
          autoComplete="new-password"
          id={fieldId("/password")}
          value={password}
          onChange={setPassword}
          error={submission.errorAt("/password")}
        />
        <div className="dialog-buttons">
          <Button onClick={onDone}>Cancel</Button>
          <Button type="submit" kind="primary" isPending={submission.pending}>
            Open the account
          </Button>
        </div>
      </form>
    </Dialog>
  );
}
