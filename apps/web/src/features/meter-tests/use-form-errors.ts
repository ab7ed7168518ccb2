import type { Operation } from "@sealbook/contract/operation";
import { useMemo, useState } from "react";
import type { ProblemError } from "../../api/problem-error.ts";
import type { PlacedError, Submission } from "../../api/use-submission.ts";
import { formPointer, type PlacesSent } from "./form-pointer.ts";
import type { TestBody } from "./test-body.ts";

/** Errors of a submission at the fields of the form, whose places differ from the body's where runs are blank. */
export function useFormErrors<O extends Operation>(submission: Submission<O>) {
  const [places, setPlaces] = useState<PlacesSent>({ asFound: [], asLeftPass: [] });
  const { problem, errors } = submission;
  // The same lines as long as nothing new was refused: a summary takes the focus only when they change.
  const lines = useMemo(() => linesOf(problem, errors, places), [problem, errors, places]);
  return {
    lines,
    errorAt: (pointer: string) =>
      submission.isSettled(pointer) ? undefined : lines.find((line) => line.pointer === pointer)?.detail,
    /**
     * Names what is still to be chosen, and the PIN if it is wanted and is none.
     *
     * @param pin  what stands in the PIN's field; null to save unsigned
     * @returns whether anything is open, so that nothing may be sent
     */
    refuseOpen(made: TestBody, pin: string | null, more: readonly PlacedError[] = []): boolean {
      setPlaces(made.places);
      const isPinOpen = pin !== null && !/^\d{4,8}$/.test(pin);
      const open = [
        ...made.open,
        ...more,
        ...(isPinOpen
          ? [
              {
                pointer: "/signature/pin",
                detail: "Type your PIN, or save now and sign later with the tray.",
              },
            ]
          : []),
      ];
      if (open.length > 0) submission.refuse(open);
      return open.length > 0;
    },
  };
}

function linesOf(
  problem: ProblemError | null,
  errors: readonly PlacedError[],
  places: PlacesSent,
): PlacedError[] {
  const placed = errors.map((error) => ({ ...error, pointer: formPointer(error.pointer, places) }));
  if (placed.length > 0 || problem === null) return placed;
  if (problem.slug === "pin-refused") return [{ pointer: "/signature/pin", detail: problem.detail }];
  if (problem.slug === "standard-overdue") return [{ pointer: "/standardId", detail: problem.detail }];
  return placed;
}
