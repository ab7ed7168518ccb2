import { untestableReasonNames, untestableReasons } from "@sealbook/contract/meter-tests";
import { fieldId } from "../../ui/field-id.ts";
import { RadioGroup } from "../../ui/radio-group.tsx";
import { TextArea } from "../../ui/text-area.tsx";
import { stop } from "./move-on.ts";
import type { TestForm } from "./test-form.ts";

/** Why no test was possible: a result of its own. */
export function UntestableFields({
  form,
  onChange,
  errorAt,
}: {
  form: TestForm;
  onChange: (changes: Partial<TestForm>) => void;
  errorAt: (pointer: string) => string | undefined;
}) {
  return (
    <div className="stack-tight">
      <div data-stop={stop(form.untestableReason === "")}>
        <RadioGroup
          label="Why no test was possible"
          id={fieldId("/outcome/reason")}
          value={form.untestableReason}
          onChange={(untestableReason) => onChange({ untestableReason })}
          options={untestableReasons.map((reason) => ({
            value: reason,
            label: untestableReasonNames[reason],
          }))}
          error={errorAt("/outcome/reason")}
        />
      </div>
      <TextArea
        label="Note"
        optional
        id={fieldId("/outcome/note")}
        hint="What was seen. A photo goes with the papers below."
        value={form.untestableNote}
        onChange={(untestableNote) => onChange({ untestableNote })}
        error={errorAt("/outcome/note")}
        rows={2}
        maxLength={500}
      />
    </div>
  );
}
