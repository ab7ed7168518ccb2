import { DecimalField } from "../../ui/decimal-field.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { conditionFields } from "./test-body.ts";
import type { TestForm } from "./test-form.ts";
import type { TestSubject } from "./test-subject.ts";

const labels = {
  volts: { label: "Test voltage", unit: "V" },
  amperes: { label: "Test current", unit: "A" },
  temperature: { label: "Temperature", unit: "°C" },
} as const;

/** The conditions that the plan asks for. */
export function ConditionFields({
  form,
  conditions,
  onChange,
  errorAt,
}: {
  form: TestForm;
  conditions: TestSubject["plan"]["body"]["conditions"];
  onChange: (changes: Partial<TestForm>) => void;
  errorAt: (pointer: string) => string | undefined;
}) {
  return conditions.map((condition) => {
    const field = conditionFields[condition];
    return (
      <div key={condition} data-stop="open">
        <DecimalField
          label={labels[condition].label}
          unit={labels[condition].unit}
          id={fieldId(`/conditions/${field}`)}
          value={form[field]}
          onChange={(text) => onChange({ [field]: text })}
          error={errorAt(`/conditions/${field}`)}
        />
      </div>
    );
  });
}
