import { createStandard } from "@sealbook/contract/standards";
import { useNavigate } from "@tanstack/react-router";
import { type FormEvent, useState } from "react";
import { newId } from "../../api/new-id.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { paths } from "../../paths.ts";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { Button } from "../../ui/button.tsx";
import { ButtonLink } from "../../ui/button-link.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { useLeaveGuard } from "../../ui/use-leave-guard.tsx";
import { blankStandard, fieldsOf, standardFieldNames } from "./standard-draft.ts";
import { StandardFieldset } from "./standard-fieldset.tsx";

/** Adds a standard; its calibration is recorded next. */
export function NewStandardPage() {
  const navigate = useNavigate();
  const [id] = useState(newId);
  const [draft, setDraft] = useState(blankStandard);
  const submission = useSubmission(createStandard);
  const { leaveDialog, release } = useLeaveGuard(draft !== blankStandard);

  const save = async (event: FormEvent) => {
    event.preventDefault();
    const reply = await submission.submit({ body: { id, ...fieldsOf(draft) } });
    if (reply === null) return;
    release();
    await navigate({ to: paths.standard(id), search: { do: "calibrate" } });
  };

  return (
    <form className="stack" onSubmit={save}>
      <PageHeader
        title="Add a standard"
        note="Its calibration is recorded next; until then no test can lean on it."
      />
      <SubmissionSummary submission={submission} names={standardFieldNames} />
      <StandardFieldset
        draft={draft}
        onChange={(changes) => setDraft((now) => ({ ...now, ...changes }))}
        errorAt={submission.errorAt}
      />
      <div className="row">
        <Button type="submit" kind="primary" isPending={submission.pending}>
          {submission.pending ? "Adding" : "Add and record its calibration"}
        </Button>
        <ButtonLink to={paths.standards()} kind="quiet">
          Back to the standards
        </ButtonLink>
      </div>
      {leaveDialog}
    </form>
  );
}
