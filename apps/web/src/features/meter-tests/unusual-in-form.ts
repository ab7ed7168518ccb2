import { unusualCircumstances } from "@sealbook/metrology/accuracy/unusual-circumstances";
import { unusualRuns } from "@sealbook/metrology/accuracy/unusual-runs";
import type { PlacedError } from "../../api/use-submission.ts";
import { runPointer } from "./form-pointer.ts";
import { judgeForm } from "./judge-form.ts";
import { judgingContext } from "./judging-context.ts";
import { passEntryOf } from "./run-entry-of.ts";
import type { FormPass, TestForm } from "./test-form.ts";
import type { TestSubject } from "./test-subject.ts";

/** Figures of the form that are seldom true, at their fields, by the functions that the service asks again. */
export function unusualInForm(form: TestForm, subject: TestSubject): PlacedError[] {
  if (form.outcome === "withdrawn") return [];
  const runs = (pass: FormPass): PlacedError[] => {
    const evaluation = judgeForm(form, pass, judgingContext(form, subject));
    if (evaluation === null) return [];
    return unusualRuns(passEntryOf(form[pass]), evaluation).map(({ pointKey, runIndex, field, reason }) => ({
      pointer: runPointer(pass, pointKey, runIndex, field),
      detail: reason,
    }));
  };
  const isTested = form.outcome === "tested";
  return [
    ...(isTested ? runs("asFound") : []),
    ...(isTested && form.asLeft === "entered" ? runs("asLeftPass") : []),
    ...unusualCircumstances(form, subject.nameplate).map(({ field, reason }) => ({
      pointer: field === "temperatureCelsius" ? `/conditions/${field}` : `/${field}`,
      detail: reason,
    })),
  ];
}
