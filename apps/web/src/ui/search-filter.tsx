import { useEffect, useRef, useState } from "react";
import { TextField } from "./text-field.tsx";
import { useDebounced } from "./use-debounced.ts";

/** A filter by typed text: the field follows the keys, the list follows once they stand still. */
export function SearchFilter({
  label,
  value,
  onChange,
  placeholder = "any part of it",
}: {
  label: string;
  /** What the list is filtered by now. */
  value: string;
  onChange: (value: string) => void;
  placeholder?: string;
}) {
  const [typed, setTyped] = useState(value);
  const settled = useDebounced(typed.trim());
  const agreed = useRef(value);
  const change = useRef(onChange);
  useEffect(() => {
    change.current = onChange;
  });
  useEffect(() => {
    if (value === agreed.current) return;
    // The filter was changed from elsewhere: by a link, or by going back.
    agreed.current = value;
    setTyped(value);
  }, [value]);
  useEffect(() => {
    if (settled === agreed.current) return;
    agreed.current = settled;
    change.current(settled);
  }, [settled]);
  return (
    <TextField
      label={label}
      type="search"
      value={typed}
      onChange={setTyped}
      placeholder={placeholder}
      maxLength={80}
    />
  );
}
