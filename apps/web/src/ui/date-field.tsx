import type { TextFieldProps } from "./field-props.ts";
import { TextField } from "./text-field.tsx";

/** A calendar date as text, "2026-03-02". */
export function DateField(field: TextFieldProps) {
  return <TextField placeholder="2026-03-02" maxLength={10} inputMode="numeric" {...field} />;
}
