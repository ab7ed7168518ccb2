import { addScheme, type Scheme } from "@sealbook/contract/sampling-schemes";
import type { SamplingScheme, SchemePreset } from "@sealbook/metrology/sampling/decision/sampling-scheme";
import { useNavigate } from "@tanstack/react-router";
import { type FormEvent, useState } from "react";
import { newId } from "../../api/new-id.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { paths } from "../../paths.ts";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { Button } from "../../ui/button.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { Notice } from "../../ui/notice.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { Panel } from "../../ui/panel.tsx";
import { Select } from "../../ui/select.tsx";
import { TextArea } from "../../ui/text-area.tsx";
import { TextField } from "../../ui/text-field.tsx";
import { useLeaveGuard } from "../../ui/use-leave-guard.tsx";
import { AbsenceFields } from "./absence-fields.tsx";
import { JudgedFields } from "./judged-fields.tsx";
import { LotFields } from "./lot-fields.tsx";
import { PlanFields } from "./plan-fields.tsx";
import { type SchemeDraft, schemeBodyOf, schemeDraftOf } from "./scheme-draft.ts";
import { schemeDraftErrors } from "./scheme-draft-errors.ts";
import { schemeFieldNames } from "./scheme-field-names.ts";
import { useProfileChoices } from "./use-plan-tables.ts";

/** A choice needs a value; no profile has this key. */
const houseScheme = "none";

/** Writes a new sampling scheme, or a new revision of one on record. */
export function SchemeForm({
  first,
  asks,
  name: firstName,
  revised,
}: {
  first: SamplingScheme | SchemePreset["body"];
  /** What must be given from the text before the scheme is used. */
  asks: readonly string[];
  name: string;
  revised: Scheme | null;
}) {
  const navigate = useNavigate();
  const [id] = useState(newId);
  const [firstDraft] = useState(() => schemeDraftOf(first));
  const profileChoices = useProfileChoices(firstDraft.jurisdiction);
  const [draft, setDraft] = useState<SchemeDraft>(firstDraft);
  const [code, setCode] = useState(revised?.code ?? "");
  const [name, setName] = useState(firstName);
  const [reason, setReason] = useState("");
  const submission = useSubmission(addScheme);
  const { leaveDialog, release } = useLeaveGuard(
    draft !== firstDraft || code !== (revised?.code ?? "") || name !== firstName || reason !== "",
  );
  const set = (changes: Partial<SchemeDraft>) => setDraft((now) => ({ ...now, ...changes }));
  const parts = { draft, onChange: set, errorAt: submission.errorAt };
  const save = async (event: FormEvent) => {
    event.preventDefault();
    const errors = schemeDraftErrors(draft);
    if (errors.length > 0) {
      submission.refuse(errors);
      return;
    }
    const reply = await submission.submit({
      body: {
        id,
        code: code.trim(),
        revision: revised === null ? 1 : revised.revision + 1,
        name: name.trim(),
        body: schemeBodyOf(draft),
        reason: reason.trim(),
      },
    });
    if (reply === null) return;
    release();
    await navigate({ to: paths.scheme(reply.id) });
  };
  return (
    <form className="stack" onSubmit={save}>
      <PageHeader
        title={
          revised === null ? "Add a sampling scheme" : `Revision ${revised.revision + 1} of ${revised.code}`
        }
        note="Lots on record keep the revision that they were made under. Verify against the current text; local rules govern."
      />
      <SubmissionSummary submission={submission} names={schemeFieldNames(draft)} />
      {asks.length === 0 ? null : (
        <Notice tone="warn" title="Give this from the text before the scheme is used">
          <ul>
            {asks.map((ask) => (
              <li key={ask}>{ask}</li>
            ))}
          </ul>
        </Notice>
      )}
      <div className="row-fields">
        <TextField
          label="Code"
          hint="Capital letters, digits and dashes"
          id={fieldId("/code")}
          value={code}
          onChange={(text) => setCode(text.toUpperCase())}
          error={submission.errorAt("/code")}
          isDisabled={revised !== null}
          maxLength={40}
        />
        <TextField
          label="Name"
          id={fieldId("/name")}
          value={name}
          onChange={setName}
          error={submission.errorAt("/name")}
          maxLength={120}
        />
        <Select
          label="Rule profile"
          id={fieldId("/body/jurisdiction")}
          value={draft.jurisdiction === "" ? houseScheme : draft.jurisdiction}
          onChange={(key) => set({ jurisdiction: key === houseScheme ? "" : key })}
          options={[{ value: houseScheme, label: "None: a house scheme" }, ...profileChoices]}
          error={submission.errorAt("/body/jurisdiction")}
        />
      </div>
      <TextArea
        label="Source"
        hint="The clause, or who agreed on it and when"
        id={fieldId("/body/source")}
        value={draft.source}
        onChange={(source) => set({ source })}
        error={submission.errorAt("/body/source")}
        rows={2}
        maxLength={500}
      />
      <Panel title="Plan">
        <PlanFields {...parts} />
      </Panel>
      <Panel title="What is judged">
        <JudgedFields {...parts} />
      </Panel>
      <Panel title="Meters that cannot be had or tested">
        <AbsenceFields {...parts} />
      </Panel>
      <Panel title="Lots">
        <LotFields {...parts} />
      </Panel>
      <TextArea
        label="Notes"
        optional
        hint="One a line"
        value={draft.notes}
        onChange={(notes) => set({ notes })}
      />
      <TextArea
        label="Reason"
        hint={revised === null ? "Why the scheme is needed" : "What the revision changes, and why"}
        id={fieldId("/reason")}
        value={reason}
        onChange={setReason}
        error={submission.errorAt("/reason")}
        rows={2}
        maxLength={500}
      />
      <div>
        <Button type="submit" kind="primary" isPending={submission.pending}>
          {submission.pending ? "Saving" : revised === null ? "Add the scheme" : "Put the revision on record"}
        </Button>
      </div>
      {leaveDialog}
    </form>
  );
}
