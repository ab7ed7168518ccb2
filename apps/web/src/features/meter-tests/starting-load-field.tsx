import { fieldId } from "../../ui/field-id.ts";
import { RadioGroup } from "../../ui/radio-group.tsx";
import { startingLoadPointer } from "./form-pointer.ts";
import { stop } from "./move-on.ts";
import type { FormPass, PassForm } from "./test-form.ts";

/** Starting load of one pass: whether the meter begins to register at a small current and goes on. */
export function StartingLoadField({
  pass,
  value,
  onChange,
  errorAt,
}: {
  pass: FormPass;
  value: PassForm["startingLoad"];
  onChange: (startingLoad: PassForm["startingLoad"]) => void;
  errorAt: (pointer: string) => string | undefined;
}) {
  return (
    <div data-stop={stop(value === "")}>
      <RadioGroup
        label="Starting load (power factor 1)"
        id={fieldId(startingLoadPointer(pass))}
        value={value}
        onChange={onChange}
        options={[
          { value: "starts", label: "Starts and goes on registering" },
          { value: "does-not-start", label: "Does not start" },
          { value: "not-checked", label: "Not checked (leaves the test incomplete)" },
        ]}
        error={errorAt(startingLoadPointer(pass))}
      />
    </div>
  );
}
