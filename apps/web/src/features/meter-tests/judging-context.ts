import type { JudgingContext } from "./evaluate-form.ts";
import { reasonsOf } from "./reasons-of.ts";
import type { TestForm } from "./test-form.ts";
import type { TestSubject } from "./test-subject.ts";

/** What the passes of a form are judged by, beside what is typed. */
export function judgingContext(form: TestForm, subject: TestSubject): JudgingContext {
  const standard = subject.standards.find(({ id }) => id === form.standardId);
  return {
    nameplate: subject.nameplate,
    points: subject.plan.body.points,
    asks: subject.plan.body,
    rules: subject.rules,
    reasons: reasonsOf(form, subject.openWork),
    certifiedPoints: standard?.calibration?.points ?? null,
  };
}
