import { useEffect, useRef, useState } from "react";

/**
 * Text of a filter that counts only once it is whole: the field follows the keys, the filter follows whole values, and a
 * filter that is changed from elsewhere, by a link or by going back, changes the field.
 *
 * @param value   what the list is filtered by now; "" is nothing
 * @param isWhole whether a text can be filtered by
 * @returns the text in the field, and what to do with each change of it
 */
export function useTypedFilter(
  value: string,
  isWhole: (text: string) => boolean,
  onChange: (value: string) => void,
): [string, (text: string) => void] {
  const [typed, setTyped] = useState(value);
  const agreed = useRef(value);
  useEffect(() => {
    if (value === agreed.current) return;
    agreed.current = value;
    setTyped(value);
  }, [value]);
  const type = (text: string) => {
    const next = text.trim();
    setTyped(next);
    if (next !== "" && !isWhole(next)) return;
    agreed.current = next;
    onChange(next);
  };
  return [typed, type];
}
