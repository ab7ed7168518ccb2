import { type Account, accountSchema, changePerson } from "@sealbook/contract/people";
import { type Role, roleNames, roles } from "@sealbook/contract/permissions";
import { type FormEvent, useState } from "react";
import { useSubmission } from "../../api/use-submission.ts";
import { ClashNotice } from "../../trade/clash-notice.tsx";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { Button } from "../../ui/button.tsx";
import { Checkbox } from "../../ui/checkbox.tsx";
import { Dialog } from "../../ui/dialog.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { Select } from "../../ui/select.tsx";
import { TextArea } from "../../ui/text-area.tsx";
import { TextField } from "../../ui/text-field.tsx";

const names = { "/name": "Name", "/role": "Role", "/active": "Active", "/reason": "Reason" };

/** Changes a person's name, role, or whether the account is active. */
export function ChangePersonDialog({ person, onDone }: { person: Account; onDone: () => void }) {
  const [version, setVersion] = useState(person.version);
  const [name, setName] = useState(person.name);
  const [role, setRole] = useState<Role>(person.role);
  const [isActive, setActive] = useState(person.active);
  const [reason, setReason] = useState("");
  const submission = useSubmission(changePerson);
  const newer =
    submission.problem?.slug === "stale"
      ? accountSchema.safeParse(submission.problem.current).data
      : undefined;
  const save = async (onVersion: number) => {
    const reply = await submission.submit({
      params: { id: person.id },
      version: onVersion,
      body: { name: name.trim(), role, active: isActive, reason: reason.trim() },
    });
    if (reply !== null) onDone();
  };
  const submit = (event: FormEvent) => {
    event.preventDefault();
    void save(version);
  };
  return (
    <Dialog title={`Change ${person.name}`} onClose={onDone}>
      <form className="stack" onSubmit={submit}>
        {newer === undefined ? (
          <SubmissionSummary submission={submission} names={names} />
        ) : (
          <ClashNotice
            lines={[
              { label: "Name", mine: name, theirs: newer.name },
              { label: "Role", mine: roleNames[role], theirs: roleNames[newer.role] },
              { label: "Active", mine: isActive ? "yes" : "no", theirs: newer.active ? "yes" : "no" },
            ]}
            onKeepMine={() => {
              setVersion(newer.version);
              void save(newer.version);
            }}
            onTakeTheirs={() => {
              setVersion(newer.version);
              setName(newer.name);
              setRole(newer.role);
              setActive(newer.active);
              submission.clear();
            }}
          />
        )}
        <TextField
          label="Name"
          id={fieldId("/name")}
          value={name}
          onChange={setName}
          error={submission.errorAt("/name")}
          maxLength={120}
        />
        <Select
          label="Role"
          id={fieldId("/role")}
          value={role}
          onChange={(next) => {
            if (next !== "") setRole(next);
          }}
          options={roles.map((one) => ({ value: one, label: roleNames[one] }))}
          error={submission.errorAt("/role")}
        />
        <Checkbox
          isSelected={isActive}
          onChange={setActive}
          hint="A closed account cannot sign in; what it recorded stays."
          id={fieldId("/active")}
        >
          Active
        </Checkbox>
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
            Save the change
          </Button>
        </div>
      </form>
    </Dialog>
  );
}
