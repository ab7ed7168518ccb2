import { changeStandard, type Standard, standardSchema } from "@sealbook/contract/standards";
import { type FormEvent, useState } from "react";
import { useSubmission } from "../../api/use-submission.ts";
import type { ClashLine } from "../../trade/clash-notice.tsx";
import { EditSummary } from "../../trade/edit-summary.tsx";
import { useVersionedForm } from "../../trade/use-versioned-form.ts";
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
  const [reason, setReason] = useState("");
  const submission = useSubmission(changeStandard, { touches: ["meterTests"] });
  const { base, form, change, isChanged, clash } = useVersionedForm(opened, {
    schema: standardSchema,
    formOf,
    problem: submission.problem,
  });
  const { leaveDialog, release } = useLeaveGuard(reason !== "" || isChanged);

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
      <EditSummary
        submission={submission}
        names={standardFieldNames}
        clash={clash}
        linesOf={linesOf}
        onSave={(fields, version) => void save(fields, version)}
      />
      <StandardFieldset draft={form} onChange={change} errorAt={submission.errorAt} />
      <Checkbox
        isSelected={form.withdrawn}
        onChange={(withdrawn) => change({ withdrawn })}
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
