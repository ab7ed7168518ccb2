import { createPlace, type PlaceKind, placeKindNames } from "@sealbook/contract/places";
import { type FormEvent, useState } from "react";
import { newId } from "../../api/new-id.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { PlaceField } from "../../trade/place-field.tsx";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { Button } from "../../ui/button.tsx";
import { Dialog } from "../../ui/dialog.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { Select } from "../../ui/select.tsx";
import { TextField } from "../../ui/text-field.tsx";

const kinds = ["shop", "store", "shelf", "van"] as const;
const names = { "/kind": "Kind", "/name": "Name", "/parentId": "Inside" };

/** Adds a place of the utility's own. */
export function AddPlaceDialog({
  onDone,
  inside = null,
}: {
  onDone: () => void;
  /** A store room to which a shelf is added. */
  inside?: string | null;
}) {
  const [id] = useState(newId);
  const [kind, setKind] = useState<Exclude<PlaceKind, "service-point">>(inside === null ? "store" : "shelf");
  const [name, setName] = useState("");
  const [parentId, setParentId] = useState(inside ?? "");
  const submission = useSubmission(createPlace);
  const parentKind = kind === "shelf" ? "store" : kind === "store" ? "shop" : null;
  const submit = async (event: FormEvent) => {
    event.preventDefault();
    const reply = await submission.submit({
      body: {
        id,
        kind,
        name: name.trim(),
        parentId: parentKind === null || parentId === "" ? null : parentId,
      },
    });
    if (reply !== null) onDone();
  };
  return (
    <Dialog title="Add a place" onClose={onDone}>
      <form className="stack" onSubmit={submit}>
        <SubmissionSummary submission={submission} names={names} />
        {inside === null ? (
          <Select
            label="Kind"
            id={fieldId("/kind")}
            value={kind}
            onChange={(next) => {
              if (next === "") return;
              setKind(next);
              setParentId("");
            }}
            options={kinds.map((one) => ({ value: one, label: placeKindNames[one] }))}
          />
        ) : null}
        <TextField
          label="Name"
          id={fieldId("/name")}
          value={name}
          onChange={setName}
          error={submission.errorAt("/name")}
          maxLength={80}
        />
        {parentKind === null || inside !== null ? null : (
          <PlaceField
            // Another kind stands inside another kind of place.
            key={parentKind}
            label={parentKind === "store" ? "In which store room" : "In which shop"}
            optional={parentKind === "shop"}
            kinds={[parentKind]}
            id={fieldId("/parentId")}
            value={parentId}
            onChange={setParentId}
            error={submission.errorAt("/parentId")}
          />
        )}
        <div className="dialog-buttons">
          <Button onClick={onDone}>Cancel</Button>
          <Button type="submit" kind="primary" isPending={submission.pending}>
            Add the place
          </Button>
        </div>
      </form>
    </Dialog>
  );
}
