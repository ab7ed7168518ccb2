import { changePlace, type PlaceRow } from "@sealbook/contract/places";
import { type FormEvent, useState } from "react";
import { useSubmission } from "../../api/use-submission.ts";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { Button } from "../../ui/button.tsx";
import { Checkbox } from "../../ui/checkbox.tsx";
import { Dialog } from "../../ui/dialog.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { TextField } from "../../ui/text-field.tsx";

/** Renames a place, closes it when it is empty, or opens it again. */
export function ChangePlaceDialog({ place, onDone }: { place: PlaceRow; onDone: () => void }) {
  const [name, setName] = useState(place.ownName);
  const [closed, setClosed] = useState(place.closed);
  const submission = useSubmission(changePlace);
  const submit = async (event: FormEvent) => {
    event.preventDefault();
    const reply = await submission.submit({
      params: { id: place.id },
      version: place.version,
      body: { name: name.trim(), closed },
    });
    if (reply !== null) onDone();
  };
  return (
    <Dialog title={`Change ${place.name}`} onClose={onDone}>
      <form className="stack" onSubmit={submit}>
        <SubmissionSummary submission={submission} names={{ "/name": "Name", "/closed": "Closed" }} />
        <TextField
          label="Name"
          id={fieldId("/name")}
          value={name}
          onChange={setName}
          error={submission.errorAt("/name")}
          maxLength={80}
        />
        <Checkbox
          isSelected={closed}
          onChange={setClosed}
          id={fieldId("/closed")}
          error={submission.errorAt("/closed")}
          hint="Nothing is put there any more; what happened there stays in the stories."
        >
          Closed
        </Checkbox>
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
