import { DateField } from "./date-field.tsx";
import { useTypedFilter } from "./use-typed-filter.ts";

const datePattern = /^\d{4}-(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])$/;

/** A date that filters a list as soon as it is whole, and not before. */
export function DateFilter({
  label,
  value,
  onChange,
}: {
  label: string;
  /** "" is no date. */
  value: string;
  onChange: (date: string) => void;
}) {
  const [typed, type] = useTypedFilter(value, (text) => datePattern.test(text), onChange);
  return (
    <DateField
      label={label}
      optional
      value={typed}
      onChange={type}
      error={typed.length === 10 && !datePattern.test(typed) ? "Write a date such as 2026-03-02." : undefined}
    />
  );
}
