import { fieldId } from "../../ui/field-id.ts";
import { RadioGroup } from "../../ui/radio-group.tsx";
import { creepPointer } from "./form-pointer.ts";
import type { FormPass, PassForm } from "./test-form.ts";

/** Creep of one pass: voltage on, no current. */
export function CreepField({
  pass,
  value,
  onChange,
  isAsked,
  keyHint,
  errorAt,
}: {
  pass: FormPass;
  value: PassForm["creep"];
  onChange: (creep: PassForm["creep"]) => void;
  /** Whether the plan asks for the creep test, so that it cannot be left out. */
  isAsked: boolean;
  /** Key that says "does not creep", where there is one. */
  keyHint?: string;
  errorAt: (pointer: string) => string | undefined;
}) {
  return (
    <div data-stop={value === "" ? "" : undefined}>
      <RadioGroup
        label="Creep (voltage on, no current)"
        hint={keyHint === undefined ? undefined : `${keyHint}: it does not creep`}
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
