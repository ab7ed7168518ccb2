import { createMeterType } from "@sealbook/contract/meter-types";
import { useNavigate } from "@tanstack/react-router";
import { type FormEvent, useState } from "react";
import { newId } from "../../api/new-id.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { paths } from "../../paths.ts";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { Button } from "../../ui/button.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { useLeaveGuard } from "../../ui/use-leave-guard.tsx";
import { fieldNames } from "./field-names.ts";
import { emptyDraft, fieldsOf } from "./meter-type-draft.ts";
import { MeterTypeFieldset } from "./meter-type-fieldset.tsx";

/** Adds a type of meter from a nameplate. */
export function NewMeterTypePage() {
  const navigate = useNavigate();
  const [id] = useState(newId);
  const [draft, setDraft] = useState(emptyDraft);
  const submission = useSubmission(createMeterType);
  const { leaveDialog, release } = useLeaveGuard(draft !== emptyDraft);
  const save = async (event: FormEvent) => {
    event.preventDefault();
    const reply = await submission.submit({ body: { id, ...fieldsOf(draft) } });
    if (reply === null) return;
    release();
    await navigate({ to: paths.type(reply.id) });
  };
  return (
    <form className="stack" onSubmit={save}>
      <PageHeader title="Add a meter type" note="Copy the nameplate as it is printed." />
      <SubmissionSummary submission={submission} names={fieldNames} />
      <MeterTypeFieldset
        draft={draft}
        onChange={(changes) => setDraft((now) => ({ ...now, ...changes }))}
        errorAt={submission.errorAt}
      />
      <div>
        <Button type="submit" kind="primary" isPending={submission.pending}>
          {submission.pending ? "Adding" : "Add the type"}
        </Button>
      </div>
      {leaveDialog}
    </form>
  );
}
