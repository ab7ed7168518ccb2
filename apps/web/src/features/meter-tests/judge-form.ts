import { occasionOf } from "@sealbook/metrology/accuracy/occasion-of";
import type { PassEvaluation } from "@sealbook/metrology/accuracy/pass-evaluation";
import { evaluateForm, type JudgingContext } from "./evaluate-form.ts";
import type { FormPass, TestForm } from "./test-form.ts";

/**
 * Judges one pass as typed.
 *
 * @returns null while no reason is chosen: the reason decides which limits hold
 */
export function judgeForm(form: TestForm, pass: FormPass, context: JudgingContext): PassEvaluation | null {
  if (context.reasons.length === 0) return null;
  return evaluateForm(form, pass, context, pass === "asFound" ? occasionOf(context.reasons) : "as-left");
}
