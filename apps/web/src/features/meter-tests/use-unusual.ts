import { useState } from "react";
import type { PlacedError } from "../../api/use-submission.ts";
import type { TestForm } from "./test-form.ts";
import type { TestSubject } from "./test-subject.ts";
import { unusualInForm } from "./unusual-in-form.ts";

/** The question about figures that are seldom true: asked when the test is saved, answered by a tick. */
export interface UnusualFigures {
  /** What was asked about; empty while nothing is. */
  asked: readonly PlacedError[];
  isConfirmed: boolean;
  onConfirm: (isConfirmed: boolean) => void;
  /** Looks at the form again: what is open before it may be saved, empty where nothing is or all is confirmed. */
  ask: () => PlacedError[];
  /** What the body says about it. */
  answer: () => { confirmedUnusual?: true };
}

/** A tick holds for the figures it was set for: another unusual figure is asked about again. */
export function useUnusual(form: TestForm, subject: TestSubject): UnusualFigures {
  const [asked, setAsked] = useState<readonly PlacedError[]>([]);
  const [confirmed, setConfirmed] = useState("");
  return {
    asked,
    isConfirmed: asked.length > 0 && confirmed === JSON.stringify(asked),
    onConfirm: (isConfirmed) => setConfirmed(isConfirmed ? JSON.stringify(asked) : ""),
    ask: () => {
      const found = unusualInForm(form, subject);
      setAsked(found);
      return found.length === 0 || confirmed === JSON.stringify(found)
        ? []
        : [
            ...found,
            {
              pointer: "/confirmedUnusual",
              detail: "Type these figures again, or confirm that they are right.",
            },
          ];
    },
    answer: () => (unusualInForm(form, subject).length > 0 ? { confirmedUnusual: true } : {}),
  };
}
