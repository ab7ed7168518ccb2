import { changeStandard, type Standard, standardSchema } from "@sealbook/contract/standards";
import { type FormEvent, useState } from "react";
import { useSubmission } from "../../api/use-submission.ts";
import { type ClashLine, ClashNotice } from "../../trade/clash-notice.tsx";
import { rebased } from "../../trade/rebased.ts";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { Button } from "../../ui/button.tsx";
import { Checkbox } from "../../ui/checkbox.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { TextArea } from "../../ui/text-area.tsx";
import { useLeaveGuard } from "../../ui/use-leave-guard.tsx";
import { rankNames } from "./rank-names.ts";
import { draftOf, fieldsOf, type StandardDraft, standardFieldNames } from "./standard-draft.ts";
import { StandardFieldset } from "./standard-fieldset.tsx";

type ChangeForm = StandardDraft & { withdrawn: boolean };

/** Changes a standard's particulars or withdraws it, with a reason; a change saved by another is shown beside. */
export function ChangeStandard({ opened, onDone }: { opened: Standard; onDone: () => void }) {
  const [base, setBase] = useState(opened);
  const [form, setForm] = useState<ChangeForm>(() => formOf(opened));
  const [reason, setReason] = useState("");
  const submission = useSubmission(changeStandard, { touches: ["meterTests"] });
  const isDirty = reason !== "" || JSON.stringify(form) !== JSON.stringify(formOf(base));
  const { leaveDialog, release } = useLeaveGuard(isDirty);
  const newer = submission.problem?.slug === "stale" ? newerVersion(submission.problem.current) : null;

  const save = async (wanted: ChangeForm, version: number) => {
    const reply = await submission.submit({
      params: { id: opened.id },
      version,
      body: { ...fieldsOf(wanted), withdrawn: wanted.withdrawn, reason: reason.trim() },
    });
    if (reply === null) return;
    release();
    onDone();
  };
  const submit = (event: FormEvent) => {
    event.preventDefault();
    void save(form, base.version);
  };

  return (
    <form className="stack" onSubmit={submit}>
      {newer === null ? (
        <SubmissionSummary submission={submission} names={standardFieldNames} />
      ) : (
        <ClashNotice
          lines={linesOf(formOf(base), rebased(formOf(base), form, formOf(newer)), formOf(newer))}
          onKeepMine={() => {
            const merged = rebased(formOf(base), form, formOf(newer));
            setBase(newer);
            setForm(merged);
            void save(merged, newer.version);
          }}
          onTakeTheirs={() => {
            setBase(newer);
            setForm(formOf(newer));
            submission.clear();
          }}
        />
      )}
      <StandardFieldset
        draft={form}
        onChange={(changes) => setForm((now) => ({ ...now, ...changes }))}
        errorAt={submission.errorAt}
      />
      <Checkbox
        isSelected={form.withdrawn}
        onChange={(withdrawn) => setForm((now) => ({ ...now, withdrawn }))}
        id={fieldId("/withdrawn")}
        hint="No test can lean on a withdrawn standard; tests on record keep it."
      >
        Withdrawn from use
      </Checkbox>
      <TextArea
        label="Reason for the change"
        id={fieldId("/reason")}
        value={reason}
        onChange={setReason}
        error={submission.errorAt("/reason")}
        maxLength={500}
        rows={2}
      />
      <div className="row">
        <Button type="submit" kind="primary" isPending={submission.pending}>
          {submission.pending ? "Saving" : "Save the change"}
        </Button>
        <Button
          kind="quiet"
          onClick={() => {
            release();
            onDone();
          }}
        >
          Leave it as it is
        </Button>
      </div>
      {leaveDialog}
    </form>
  );
}

function newerVersion(current: unknown): Standard | null {
  const read = standardSchema.safeParse(current);
  return read.success ? read.data : null;
}

function formOf(standard: Standard): ChangeForm {
  return { ...draftOf(standard), withdrawn: standard.withdrawn };
}

function linesOf(opened: ChangeForm, mine: ChangeForm, theirs: ChangeForm): ClashLine[] {
  return (Object.keys(mine) as (keyof ChangeForm)[]).map((key) => ({
    label: standardFieldNames[`/${key}`] ?? key,
    opened: shown(opened, key),
    mine: shown(mine, key),
    theirs: shown(theirs, key),
  }));
}

function shown(form: ChangeForm, key: keyof ChangeForm): string {
  if (key === "rank") return rankNames[form.rank];
  if (key === "withdrawn") return form.withdrawn ? "yes" : "no";
  return form[key];
}
