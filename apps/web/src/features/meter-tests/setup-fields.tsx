import { testReasonNames, testReasons } from "@sealbook/contract/work-items";
import { type ReactNode, useState } from "react";
import { useShop } from "../../api/use-shop.ts";
import { Checkbox } from "../../ui/checkbox.tsx";
import { DateTimeField } from "../../ui/date-time-field.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { KeyHint } from "../../ui/key-hint.tsx";
import { formatLocalDate } from "../../ui/local-time.ts";
import { RadioGroup } from "../../ui/radio-group.tsx";
import { Select } from "../../ui/select.tsx";
import { ConditionFields } from "./condition-fields.tsx";
import { stop } from "./move-on.ts";
import { reasonsOf } from "./reasons-of.ts";
import { performedInstant } from "./test-body.ts";
import type { TestForm } from "./test-form.ts";
import type { TestSubject } from "./test-subject.ts";
import { whyNotUsable } from "./why-not-usable.ts";

/** Why, when and against which standard the test is made, and what is confirmed before it. */
export function SetupFields({
  form,
  subject,
  onChange,
  onStandard,
  errorAt,
  children,
}: {
  form: TestForm;
  subject: TestSubject;
  onChange: (changes: Partial<TestForm>) => void;
  onStandard: (standardId: string) => void;
  errorAt: (pointer: string) => string | undefined;
  /** What else is chosen before anything is measured. */
  children: ReactNode;
}) {
  const { timeZone, today } = useShop();
  const { body } = subject.plan;
  const reasons = reasonsOf(form, subject.openWork);
  const performedAt = performedInstant(form, timeZone);
  const onDate = performedAt === null ? today : formatLocalDate(performedAt, timeZone);
  const standard = subject.standards.find(({ id }) => id === form.standardId);
  // The list closes itself behind a reason that is known when the form opens; after that it is the person's to open.
  const [isOpenAtFirst] = useState(reasons.length === 0);
  const isTested = form.outcome === "tested";
  return (
    <div className="test-setup">
      <div className="stack-tight">
        {subject.openWork.length === 0 ? null : (
          <fieldset className="field">
            <legend className="field-label">Open work this test answers</legend>
            {subject.openWork.map((item) => (
              <Checkbox
                key={item.id}
                isSelected={form.workItemIds.includes(item.id)}
                onChange={(isTicked) =>
                  onChange({ workItemIds: withOrWithout(form.workItemIds, item.id, isTicked) })
                }
              >
                {testReasonNames[item.reason]}
                {item.dueOn === null ? "" : `, due ${item.dueOn}`}
                {item.dueOn !== null && item.dueOn < today ? " (late)" : ""}
                {item.note === "" ? "" : ` · ${item.note}`}
              </Checkbox>
            ))}
          </fieldset>
        )}
        <details className="test-reasons" open={isOpenAtFirst}>
          <summary id={fieldId("/reasons")}>
            Reason for test:{" "}
            <strong>
              {reasons.length === 0
                ? "choose one"
                : reasons.map((reason) => testReasonNames[reason]).join(", ")}
            </strong>
          </summary>
          <fieldset className="field" data-stop={stop(reasons.length === 0)}>
            <legend className="visually-hidden">Reasons for test</legend>
            <div className="test-reason-list">
              {testReasons.map((reason) => (
                <Checkbox
                  key={reason}
                  isSelected={form.reasons.includes(reason)}
                  onChange={(isTicked) =>
                    onChange({ reasons: withOrWithout(form.reasons, reason, isTicked) })
                  }
                >
                  {testReasonNames[reason]}
                </Checkbox>
              ))}
            </div>
          </fieldset>
        </details>
        <FieldError detail={errorAt("/reasons")} />
        {children}
      </div>
      {isTested ? (
        <div className="stack-tight">
          <div data-stop={stop(form.standardId === "")}>
            <Select
              label="Standard"
              id={fieldId("/standardId")}
              value={form.standardId}
              onChange={onStandard}
              placeholder="Choose the standard"
              options={subject.standards.map((one) => {
                const whyNot = whyNotUsable(one, body.standardRank, onDate);
                return {
                  value: one.id,
                  label: `${one.designation}, ${one.maker} ${one.model}${whyNot === null ? (one.dueOn === null ? "" : ` · due ${one.dueOn}`) : ` · ${whyNot}`}`,
                  isDisabled: whyNot !== null && one.id !== form.standardId,
                };
              })}
              hint={
                standard?.calibration == null
                  ? undefined
                  : standard.calibration.calibratedOn > onDate
                    ? `Certificate ${standard.calibration.certificateNumber} is newer than this test; the one before is being fetched.`
                    : `Certificate ${standard.calibration.certificateNumber}, ${standard.calibration.laboratory}`
              }
              error={errorAt("/standardId")}
            />
          </div>
          <div data-stop={stop(form.errorAppliedByBench === "")}>
            <RadioGroup
              label="Has the bench already applied this standard’s certified error?"
              id={fieldId("/errorAppliedByBench")}
              value={form.errorAppliedByBench}
              onChange={(errorAppliedByBench) => onChange({ errorAppliedByBench })}
              options={[
                { value: "yes", label: "Yes, already applied" },
                { value: "no", label: "No, apply it here" },
              ]}
              error={errorAt("/errorAppliedByBench")}
            />
          </div>
        </div>
      ) : null}
      <div className="stack-tight">
        <DateTimeField
          label="Performed at"
          timeZone={timeZone}
          id={fieldId("/performedAt")}
          value={form.performedAt}
          onChange={(text) => onChange({ performedAt: text })}
          error={errorAt("/performedAt")}
        />
        {isTested ? (
          <ConditionFields form={form} conditions={body.conditions} onChange={onChange} errorAt={errorAt} />
        ) : null}
        {isTested && body.preconditions.length > 0 ? (
          <fieldset className="field">
            <legend className="field-label">
              Before the test, confirm <KeyHint keys="Alt+P" />
            </legend>
            {body.preconditions.map((text, index) => (
              <Checkbox
                key={text}
                id={index === 0 ? fieldId("/preconditionsConfirmed") : undefined}
                isSelected={form.preconditionsConfirmed.includes(text)}
                onChange={(isTicked) =>
                  onChange({
                    preconditionsConfirmed: withOrWithout(form.preconditionsConfirmed, text, isTicked),
                  })
                }
              >
                {text}
              </Checkbox>
            ))}
            <FieldError
              detail={
                body.preconditions.every((text) => form.preconditionsConfirmed.includes(text))
                  ? undefined
                  : errorAt("/preconditionsConfirmed")
              }
            />
          </fieldset>
        ) : null}
      </div>
    </div>
  );
}

function FieldError({ detail }: { detail: string | undefined }) {
  return detail === undefined ? null : <div className="field-error">{detail}</div>;
}

function withOrWithout<Value>(list: readonly Value[], value: Value, isIn: boolean): Value[] {
  const others = list.filter((one) => one !== value);
  return isIn ? [...others, value] : others;
}
