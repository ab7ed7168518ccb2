import { useState } from "react";
import { Button } from "../../ui/button.tsx";
import { TextField } from "../../ui/text-field.tsx";

/** Numbers of seals, typed or scanned one after another: Enter puts each on the list. */
export function SealField({
  label,
  id,
  seals,
  onChange,
  error,
}: {
  label: string;
  id: string;
  seals: readonly string[];
  onChange: (seals: string[]) => void;
  error: string | undefined;
}) {
  const [typed, setTyped] = useState("");
  const add = () => {
    const number = typed.trim();
    if (number === "") return;
    setTyped("");
    if (!seals.includes(number)) onChange([...seals, number]);
  };
  return (
    <div className="stack-tight">
      <TextField
        label={label}
        optional
        id={id}
        value={typed}
        onChange={setTyped}
        onBlur={add}
        onKeyDown={(event) => {
          if (event.key !== "Enter" || event.ctrlKey || typed.trim() === "") return;
          event.preventDefault();
          event.stopPropagation();
          add();
        }}
        hint="Enter adds the number."
        error={error}
        maxLength={40}
      />
      {seals.length === 0 ? null : (
        <ul className="seal-list">
          {seals.map((seal) => (
            <li key={seal}>
              {seal}
              <Button
                kind="quiet"
                aria-label={`Take seal ${seal} off the list`}
                onClick={() => onChange(seals.filter((one) => one !== seal))}
              >
                Take off
              </Button>
            </li>
          ))}
        </ul>
      )}
    </div>
  );
}
