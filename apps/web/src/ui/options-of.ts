import type { SelectOption } from "./select.tsx";

/** The options of a choice from the names of its values, in their order. */
export function optionsOf<Value extends string>(
  names: Readonly<Record<Value, string>>,
): SelectOption<Value>[] {
  return (Object.keys(names) as Value[]).map((value) => ({ value, label: names[value] }));
}
