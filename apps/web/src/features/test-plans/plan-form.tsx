import { addTestPlan, type TestPlan } from "@sealbook/contract/test-plans";
import { useNavigate } from "@tanstack/react-router";
import { type FormEvent, useState } from "react";
import { newId } from "../../api/new-id.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { paths } from "../../paths.ts";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { Button } from "../../ui/button.tsx";
import { Checkbox } from "../../ui/checkbox.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { PageHeader } from "../../ui/page-header.tsx";
import { Panel } from "../../ui/panel.tsx";
import { RadioGroup } from "../../ui/radio-group.tsx";
import { TextArea } from "../../ui/text-area.tsx";
import { TextField } from "../../ui/text-field.tsx";
import { useLeaveGuard } from "../../ui/use-leave-guard.tsx";
import { fieldNames } from "./field-names.ts";
import { bodyOf, draftOf, newDraft, newPoint, type PlanDraft, type PointDraft } from "./plan-draft.ts";
import { PointFieldset } from "./point-fieldset.tsx";
import { conditionNames } from "./point-words.ts";

const conditions = ["volts", "amperes", "temperature"] as const;

/** Writes a new plan, or a new revision of one on record. */
export function PlanForm({ revised }: { revised: TestPlan | null }) {
  const navigate = useNavigate();
  const [id] = useState(newId);
  const [first] = useState(() => (revised === null ? newDraft(newId()) : draftOf(revised)));
  const [draft, setDraft] = useState<PlanDraft>(first);
  const [reason, setReason] = useState("");
  const submission = useSubmission(addTestPlan);
  const { leaveDialog, release } = useLeaveGuard(draft !== first || reason !== "");
  const set = (changes: Partial<PlanDraft>) => setDraft((now) => ({ ...now, ...changes }));
  const setPoint = (rowKey: string, changes: Partial<PointDraft>) =>
    setDraft((now) => ({
      ...now,
      points: now.points.map((point) => (point.rowKey === rowKey ? { ...point, ...changes } : point)),
    }));
  const save = async (event: FormEvent) => {
    event.preventDefault();
    const reply = await submission.submit({
      body: {
        id,
        code: draft.code.trim(),
        revision: revised === null ? 1 : revised.revision + 1,
        name: draft.name.trim(),
        body: bodyOf(draft),
        reason: reason.trim(),
      },
    });
    if (reply === null) return;
    release();
    await navigate({ to: paths.plan(reply.id) });
  };
  const title = revised === null ? "Add a test plan" : `Revision ${revised.revision + 1} of ${revised.code}`;
  return (
    <form className="stack" onSubmit={save}>
      <PageHeader title={title} note="Tests on record keep the revision that they were made under." />
      <SubmissionSummary submission={submission} names={fieldNames} />
      <div className="row-fields row-fields-wide">
        <TextField
          label="Code"
          hint="Capital letters, digits and dashes"
          id={fieldId("/code")}
          value={draft.code}
          onChange={(code) => set({ code: code.toUpperCase() })}
          error={submission.errorAt("/code")}
          isDisabled={revised !== null}
          maxLength={40}
        />
        <TextField
          label="Name"
          id={fieldId("/name")}
          value={draft.name}
          onChange={(name) => set({ name })}
          error={submission.errorAt("/name")}
          maxLength={120}
        />
      </div>
      <Panel
        title="Points"
        actions={
          draft.points.length < 24 ? (
            <Button onClick={() => set({ points: [...draft.points, newPoint(newId())] })}>Add a point</Button>
          ) : undefined
        }
      >
        <div className="stack">
          {draft.points.map((point, index) => (
            <PointFieldset
              key={point.rowKey}
              point={point}
              index={index}
              onChange={(changes) => setPoint(point.rowKey, changes)}
              onRemove={
                draft.points.length === 1
                  ? undefined
                  : () => set({ points: draft.points.filter((one) => one.rowKey !== point.rowKey) })
              }
              errorAt={submission.errorAt}
            />
          ))}
        </div>
      </Panel>
      <Panel title="What the plan asks of the tester">
        <RadioGroup
          label="Creep"
          value={draft.creep}
          onChange={(creep) => set({ creep })}
          options={[
            { value: "asked", label: "Checked in every test" },
            { value: "not-asked", label: "Not asked" },
          ]}
        />
        <RadioGroup
          label="Starting load"
          value={draft.startingLoad}
          onChange={(startingLoad) => set({ startingLoad })}
          options={[
            { value: "asked", label: "Checked in every test" },
            { value: "not-asked", label: "Not asked" },
          ]}
        />
        <RadioGroup
          label="Demand"
          value={draft.demand?.basis ?? "not-asked"}
          onChange={(basis) => set({ demand: basis === "not-asked" ? null : { basis } })}
          options={[
            { value: "full-scale", label: "Error in percent of full scale (mechanical or lagged demand)" },
            { value: "reading", label: "Error in percent of reading (electronic demand)" },
            { value: "not-asked", label: "Not asked" },
          ]}
        />
        <RadioGroup
          label="Standard"
          value={draft.standardRank}
          onChange={(standardRank) => set({ standardRank })}
          options={[
            { value: "any", label: "Any standard" },
            { value: "reference", label: "A reference standard" },
          ]}
        />
        <fieldset className="field">
          <legend className="field-label">Conditions written down</legend>
          <div className="choice-list">
            {conditions.map((condition) => (
              <Checkbox
                key={condition}
                isSelected={draft.conditions.includes(condition)}
                onChange={(isAsked) =>
                  set({
                    conditions: conditions.filter((one) =>
                      one === condition ? isAsked : draft.conditions.includes(one),
                    ),
                  })
                }
              >
                {conditionNames[condition]}
              </Checkbox>
            ))}
          </div>
        </fieldset>
        <Checkbox isSelected={draft.appliesVoltage} onChange={(appliesVoltage) => set({ appliesVoltage })}>
          The test applies voltage: show the caution
        </Checkbox>
        <TextArea
          label="Confirmed before the test"
          optional
          hint="One a line, at most 12"
          id={fieldId("/body/preconditions")}
          value={draft.preconditions}
          onChange={(preconditions) => set({ preconditions })}
          error={submission.errorAt("/body/preconditions")}
        />
      </Panel>
      <TextArea
        label="Reason"
        hint={revised === null ? "Why the plan is needed" : "What the revision changes, and why"}
        id={fieldId("/reason")}
        value={reason}
        onChange={setReason}
        error={submission.errorAt("/reason")}
        rows={2}
        maxLength={500}
      />
      <div>
        <Button type="submit" kind="primary" isPending={submission.pending}>
          {submission.pending ? "Saving" : revised === null ? "Add the plan" : "Put the revision on record"}
        </Button>
      </div>
      {leaveDialog}
    </form>
  );
}
