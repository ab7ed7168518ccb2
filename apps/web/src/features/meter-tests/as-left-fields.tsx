import type { PassEvaluation } from "@sealbook/metrology/accuracy/pass-evaluation";
import { fieldId } from "../../ui/field-id.ts";
import { RadioGroup } from "../../ui/radio-group.tsx";
import { TextField } from "../../ui/text-field.tsx";
import { AskedFields } from "./asked-fields.tsx";
import { stop } from "./move-on.ts";
import { PassGrounds } from "./pass-grounds.tsx";
import { PassTable } from "./pass-table.tsx";
import { PassVerdict } from "./pass-verdict.tsx";
import type { PassForm, RunField, TestForm } from "./test-form.ts";
import type { TestSubject } from "./test-subject.ts";

/** How the meter was left: as found, adjusted and tested again, or not tested and why. */
export function AsLeftFields({
  form,
  subject,
  evaluation,
  onChange,
  onField,
  onPass,
  errorAt,
}: {
  form: TestForm;
  subject: TestSubject;
  evaluation: PassEvaluation | null;
  onChange: (changes: Partial<TestForm>) => void;
  onField: (pointKey: string, runIndex: number, field: RunField, text: string) => void;
  onPass: (change: (now: PassForm) => PassForm) => void;
  errorAt: (pointer: string) => string | undefined;
}) {
  return (
    <div className="stack-tight">
      <div data-stop={stop(form.asLeft === "")}>
        <RadioGroup
          label="How the meter was left"
          hideLabel
          id={fieldId("/outcome/asLeft")}
          value={form.asLeft}
          onChange={(asLeft) => onChange({ asLeft })}
          options={[
            { value: "same", label: "As found, nothing adjusted" },
            { value: "entered", label: "Adjusted or repaired: enter as left" },
            { value: "not-tested", label: "Not tested as left" },
          ]}
          error={errorAt("/outcome/asLeft")}
        />
      </div>
      {form.asLeft === "not-tested" ? (
        <div data-stop="open">
          <TextField
            label="Why it was not tested as left"
            id={fieldId("/outcome/asLeft/why")}
            value={form.whyNotTested}
            onChange={(whyNotTested) => onChange({ whyNotTested })}
            error={errorAt("/outcome/asLeft/why")}
            maxLength={500}
          />
        </div>
      ) : null}
      {form.asLeft === "entered" ? (
        <>
          <div data-stop="open">
            <TextField
              label="What was cleaned, adjusted or repaired"
              id={fieldId("/outcome/asLeft/adjustment")}
              value={form.adjustment}
              onChange={(adjustment) => onChange({ adjustment })}
              error={errorAt("/outcome/asLeft/adjustment")}
              maxLength={500}
            />
          </div>
          <PassTable
            pass="asLeftPass"
            form={form.asLeftPass}
            points={subject.plan.body.points}
            nameplate={subject.nameplate}
            evaluation={evaluation}
            onField={onField}
            errorAt={errorAt}
          />
          <AskedFields
            pass="asLeftPass"
            form={form.asLeftPass}
            asks={subject.plan.body}
            evaluation={evaluation}
            onChange={onPass}
            errorAt={errorAt}
          />
          <PassVerdict evaluation={evaluation} />
          {evaluation === null || evaluation.verdict === "pass" ? null : (
            <PassGrounds evaluation={evaluation} />
          )}
        </>
      ) : null}
    </div>
  );
}
