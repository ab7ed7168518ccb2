import { useState } from "react";
import { DateField } from "./date-field.tsx";

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
  const [typed, setTyped] = useState(value);
  return (
    <DateField
      label={label}
      optional
      value={typed}
      onChange={(text) => {
        const next = text.trim();
        setTyped(next);
        if (next === "" || datePattern.test(next)) onChange(next);
      }}
      error={typed.length === 10 && !datePattern.test(typed) ? "Write a date such as 2026-03-02." : undefined}
    />
  );
}
