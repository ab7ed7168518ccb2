import { useEffect, useState } from "react";

/** A value that follows its source once it has stood still, so that a list is not asked at every keystroke. */
export function useDebounced<Value>(value: Value, milliseconds = 250): Value {
  const [settled, setSettled] = useState(value);
  useEffect(() => {
    const timer = setTimeout(() => setSettled(value), milliseconds);
    return () => clearTimeout(timer);
  }, [value, milliseconds]);
  return settled;
}
