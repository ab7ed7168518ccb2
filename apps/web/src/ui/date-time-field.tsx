import type { TextFieldProps } from "./field-props.ts";
import { TextField } from "./text-field.tsx";

/**
 * A date and time as local text, "2026-03-02 14:05", in the zone that the hint names. The screen turns it into an
 * instant with readLocal of trade/read-local.ts when it sends, so that what was typed stays as it was.
 */
export function DateTimeField({ timeZone, ...field }: TextFieldProps & { timeZone: string }) {
  return (
    <TextField placeholder="2026-03-02 14:05" hint={`Local time, ${timeZone}`} maxLength={24} {...field} />
  );
}
