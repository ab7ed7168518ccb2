import {
  type CorrectiveAction,
  changeCorrectiveAction,
  correctiveActionSchema,
} from "@sealbook/contract/corrective-actions";
import { type FormEvent, useState } from "react";
import { useSubmission } from "../../api/use-submission.ts";
import { Button } from "../../ui/button.tsx";
import { DateField } from "../../ui/date-field.tsx";
import { Dialog } from "../../ui/dialog.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { Select } from "../../ui/select.tsx";
import { TextArea } from "../../ui/text-area.tsx";
import { TextField } from "../../ui/text-field.tsx";
import { EditSummary } from "../edit-summary.tsx";
import { useVersionedForm } from "../use-versioned-form.ts";
import { usePeopleOptions } from "./use-people-options.ts";

interface ActionForm {
  ownerId: string;
  dueOn: string;
  doneOn: string;
  doneNote: string;
}

const names = {
  "/ownerId": "Owner",
  "/dueOn": "Due on",
  "/doneOn": "Done on",
  "/doneNote": "What was done",
  "/reason": "Reason",
};

/** Moves an action to another owner or date, or says that it is done. */
export function ChangeActionDialog({ action, onDone }: { action: CorrectiveAction; onDone: () => void }) {
  const [reason, setReason] = useState("");
  const people = usePeopleOptions();
  const submission = useSubmission(changeCorrectiveAction);
  const { base, form, change, clash } = useVersionedForm(action, {
    schema: correctiveActionSchema,
    formOf,
    problem: submission.problem,
  });
  const save = async (fields: ActionForm, version: number) => {
    const reply = await submission.submit({
      params: { id: action.id },
      version,
      body: {
        ownerId: fields.ownerId,
        dueOn: fields.dueOn.trim(),
        doneOn: fields.doneOn.trim() === "" ? null : fields.doneOn.trim(),
        doneNote: fields.doneNote.trim(),
        reason: reason.trim(),
      },
    });
    if (reply !== null) onDone();
  };
  const submit = (event: FormEvent) => {
    event.preventDefault();
    void save(form, base.version);
  };
  const nameOf = (ownerId: string) => people.find((person) => person.value === ownerId)?.label ?? ownerId;
  const linesOf = (opened: ActionForm, mine: ActionForm, theirs: ActionForm) => [
    {
      label: "Owner",
      opened: nameOf(opened.ownerId),
      mine: nameOf(mine.ownerId),
      theirs: nameOf(theirs.ownerId),
    },
    { label: "Due on", opened: opened.dueOn, mine: mine.dueOn, theirs: theirs.dueOn },
    { label: "Done on", opened: opened.doneOn, mine: mine.doneOn, theirs: theirs.doneOn },
    { label: "What was done", opened: opened.doneNote, mine: mine.doneNote, theirs: theirs.doneNote },
  ];
  return (
    <Dialog title={`Action on lot ${action.lotNumber}`} onClose={onDone}>
      <form className="stack" onSubmit={submit}>
        <EditSummary
          submission={submission}
          names={names}
          clash={clash}
          linesOf={linesOf}
          onSave={(fields, version) => void save(fields, version)}
        />
        <p>{action.detail}</p>
        <div className="row-fields">
          <Select
            label="Owner"
            id={fieldId("/ownerId")}
            value={form.ownerId}
            onChange={(ownerId) => change({ ownerId })}
            options={people.length === 0 ? [{ value: action.owner.id, label: action.owner.name }] : people}
            error={submission.errorAt("/ownerId")}
          />
          <DateField
            label="Due on"
            id={fieldId("/dueOn")}
            value={form.dueOn}
            onChange={(dueOn) => change({ dueOn })}
            error={submission.errorAt("/dueOn")}
          />
          <DateField
            label="Done on"
            optional
            id={fieldId("/doneOn")}
            value={form.doneOn}
            onChange={(doneOn) => change({ doneOn })}
            error={submission.errorAt("/doneOn")}
          />
          <TextField
            label="What was done"
            optional
            id={fieldId("/doneNote")}
            value={form.doneNote}
            onChange={(doneNote) => change({ doneNote })}
            error={submission.errorAt("/doneNote")}
            maxLength={500}
          />
        </div>
        <TextArea
          label="Reason"
          hint="Why the action changes"
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

function formOf({ owner, dueOn, doneOn, doneNote }: CorrectiveAction): ActionForm {
  return { ownerId: owner.id, dueOn, doneOn: doneOn ?? "", doneNote };
}
