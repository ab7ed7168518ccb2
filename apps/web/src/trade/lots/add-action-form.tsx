import {
  addCorrectiveAction,
  correctiveActionKinds,
  correctiveActionNames,
} from "@sealbook/contract/corrective-actions";
import type { Lot } from "@sealbook/contract/sampling";
import { type FormEvent, useState } from "react";
import { newId } from "../../api/new-id.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { Button } from "../../ui/button.tsx";
import { DateField } from "../../ui/date-field.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { Select } from "../../ui/select.tsx";
import { TextArea } from "../../ui/text-area.tsx";
import { SubmissionSummary } from "../submission-summary.tsx";
import { usePeopleOptions } from "./use-people-options.ts";

type ActionKind = (typeof correctiveActionKinds)[number];

const names = {
  "/kind": "Action",
  "/detail": "What is to be done",
  "/ownerId": "Owner",
  "/dueOn": "Due on",
};

/** Gives a decided lot an action with an owner and a due date. */
export function AddActionForm({ lot, onDone }: { lot: Lot; onDone: () => void }) {
  const [id] = useState(newId);
  const [kind, setKind] = useState<ActionKind | "">("");
  const [detail, setDetail] = useState("");
  const [ownerId, setOwnerId] = useState("");
  const [dueOn, setDueOn] = useState("");
  const people = usePeopleOptions();
  const submission = useSubmission(addCorrectiveAction);
  const save = async (event: FormEvent) => {
    event.preventDefault();
    const reply = await submission.submit({
      params: { id: lot.id },
      // The contract's check names a kind that was not chosen.
      body: { id, kind: kind as ActionKind, detail: detail.trim(), ownerId, dueOn: dueOn.trim() },
    });
    if (reply !== null) onDone();
  };
  return (
    <form className="stack" onSubmit={save}>
      <SubmissionSummary submission={submission} names={names} />
      <div className="row-fields">
        <Select
          label="Action"
          id={fieldId("/kind")}
          value={kind}
          onChange={setKind}
          placeholder="Choose the action"
          options={correctiveActionKinds.map((one) => ({ value: one, label: correctiveActionNames[one] }))}
          error={submission.errorAt("/kind")}
        />
        <Select
          label="Owner"
          id={fieldId("/ownerId")}
          value={ownerId}
          onChange={setOwnerId}
          placeholder="Choose who sees to it"
          options={people}
          error={submission.errorAt("/ownerId")}
        />
        <DateField
          label="Due on"
          id={fieldId("/dueOn")}
          value={dueOn}
          onChange={setDueOn}
          error={submission.errorAt("/dueOn")}
        />
      </div>
      <TextArea
        label="What is to be done"
        id={fieldId("/detail")}
        value={detail}
        onChange={setDetail}
        error={submission.errorAt("/detail")}
        rows={2}
        maxLength={500}
      />
      <div className="row">
        <Button type="submit" kind="primary" isPending={submission.pending}>
          {submission.pending ? "Saving" : "Set the action"}
        </Button>
        <Button onClick={onDone}>Cancel</Button>
      </div>
    </form>
  );
}
