import { type Account, accountSchema, changePerson } from "@sealbook/contract/people";
import { roleNames, roles } from "@sealbook/contract/permissions";
import { type FormEvent, useState } from "react";
import { useSubmission } from "../../api/use-submission.ts";
import type { ClashLine } from "../../trade/clash-notice.tsx";
import { EditSummary } from "../../trade/edit-summary.tsx";
import { useVersionedForm } from "../../trade/use-versioned-form.ts";
import { Button } from "../../ui/button.tsx";
import { Checkbox } from "../../ui/checkbox.tsx";
import { Dialog } from "../../ui/dialog.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { Select } from "../../ui/select.tsx";
import { TextArea } from "../../ui/text-area.tsx";
import { TextField } from "../../ui/text-field.tsx";
import { PlacesField } from "./places-field.tsx";
import { placesText } from "./places-text.ts";

const names = {
  "/name": "Name",
  "/role": "Role",
  "/active": "Active",
  "/placeIds": "Places",
  "/reason": "Reason",
};

/** Changes a person's name, role, or whether the account is active. */
export function ChangePersonDialog({ person, onDone }: { person: Account; onDone: () => void }) {
  const [reason, setReason] = useState("");
  const submission = useSubmission(changePerson);
  const { base, form, change, clash } = useVersionedForm(person, {
    schema: accountSchema,
    formOf,
    problem: submission.problem,
  });
  const save = async (fields: PersonForm, version: number) => {
    const reply = await submission.submit({
      params: { id: person.id },
      version,
      body: {
        name: fields.name.trim(),
        role: fields.role,
        active: fields.active,
        placeIds: fields.places.map(({ id: placeId }) => placeId),
        reason: reason.trim(),
      },
    });
    if (reply !== null) onDone();
  };
  const submit = (event: FormEvent) => {
    event.preventDefault();
    void save(form, base.version);
  };
  return (
    <Dialog title={`Change ${person.name}`} onClose={onDone}>
      <form className="stack" onSubmit={submit}>
        <EditSummary
          submission={submission}
          names={names}
          clash={clash}
          linesOf={linesOf}
          onSave={(fields, version) => void save(fields, version)}
        />
        <TextField
          label="Name"
          id={fieldId("/name")}
          value={form.name}
          onChange={(name) => change({ name })}
          error={submission.errorAt("/name")}
          maxLength={120}
        />
        <Select
          label="Role"
          id={fieldId("/role")}
          value={form.role}
          onChange={(next) => {
            if (next !== "") change({ role: next });
          }}
          options={roles.map((one) => ({ value: one, label: roleNames[one] }))}
          error={submission.errorAt("/role")}
        />
        <PlacesField
          places={form.places}
          onChange={(places) => change({ places })}
          error={submission.errorAt("/placeIds")}
        />
        <Checkbox
          isSelected={form.active}
          onChange={(active) => change({ active })}
          hint="A closed account cannot sign in; what it recorded stays. Once it is closed, the person can be forgotten."
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

type PersonForm = Pick<Account, "name" | "role" | "active" | "places">;

function formOf({ name, role, active, places }: Account): PersonForm {
  return { name, role, active, places };
}

function linesOf(opened: PersonForm, mine: PersonForm, theirs: PersonForm): ClashLine[] {
  const yesNo = (value: boolean) => (value ? "yes" : "no");
  return [
    { label: "Name", opened: opened.name, mine: mine.name, theirs: theirs.name },
    {
      label: "Role",
      opened: roleNames[opened.role],
      mine: roleNames[mine.role],
      theirs: roleNames[theirs.role],
    },
    { label: "Places", opened: placesText(opened), mine: placesText(mine), theirs: placesText(theirs) },
    { label: "Active", opened: yesNo(opened.active), mine: yesNo(mine.active), theirs: yesNo(theirs.active) },
  ];
}
