import { fieldId } from "../../ui/field-id.ts";
import { RadioGroup } from "../../ui/radio-group.tsx";
import { creepPointer } from "./form-pointer.ts";
import { stop } from "./move-on.ts";
import type { FormPass, PassForm } from "./test-form.ts";

/** Creep of one pass: voltage on, no current. */
export function CreepField({
  pass,
  value,
  onChange,
  isAsked,
  errorAt,
}: {
  pass: FormPass;
  value: PassForm["creep"];
  onChange: (creep: PassForm["creep"]) => void;
  /** Whether the plan asks for the creep test, so that it cannot be left out. */
  isAsked: boolean;
  errorAt: (pointer: string) => string | undefined;
}) {
  return (
    <div data-stop={stop(value === "")}>
      <RadioGroup
        label="Creep (voltage on, no current)"
        id={fieldId(creepPointer(pass))}
        value={value}
        onChange={onChange}
        options={[
          { value: "none", label: "Does not creep" },
          { value: "creeps", label: "Creeps" },
          {
            value: "not-checked",
            label: isAsked ? "Not checked (the plan asks for it)" : "Not checked",
            isDisabled: isAsked,
          },
        ]}
        error={errorAt(creepPointer(pass))}
      />
    </div>
  );
}
