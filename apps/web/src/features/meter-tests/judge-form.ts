import type { JudgingRules } from "@sealbook/contract/profiles";
import type { TestReason } from "@sealbook/contract/work-items";
import { evaluatePass } from "@sealbook/metrology/accuracy/evaluate-pass";
import { occasionOf } from "@sealbook/metrology/accuracy/occasion-of";
import type { PassEvaluation } from "@sealbook/metrology/accuracy/pass-evaluation";
import { type Nameplate, type PlanAsks, passInput } from "@sealbook/metrology/accuracy/pass-input";
import type { CertifiedPoint, PlanPoint } from "@sealbook/metrology/accuracy/test-terms";
import { passEntryOf } from "./run-entry-of.ts";
import type { FormPass, TestForm } from "./test-form.ts";

/** What a pass is judged by, beside what is typed. */
export interface JudgingContext {
  nameplate: Nameplate;
  points: readonly PlanPoint[];
  /** What the plan asks beside its points. */
  asks: PlanAsks;
  rules: JudgingRules;
  reasons: readonly TestReason[];
  /** Certified points of the chosen standard; null while none is chosen or it has no calibration. */
  certifiedPoints: CertifiedPoint[] | null;
}

/**
 * Judges one pass as typed, with the function and the inputs that the service will use again.
 *
 * @returns null while no reason is chosen: the reason decides which limits hold
 */
export function judgeForm(form: TestForm, pass: FormPass, context: JudgingContext): PassEvaluation | null {
  if (context.reasons.length === 0) return null;
  const { certifiedPoints, nameplate, points, asks, rules } = context;
  const standard =
    certifiedPoints === null || form.errorAppliedByBench === ""
      ? null
      : { certifiedPoints, errorAppliedByBench: form.errorAppliedByBench === "yes" };
  return evaluatePass(
    passInput({
      nameplate,
      points,
      asks,
      rules,
      standard,
      occasion: pass === "asFound" ? occasionOf(context.reasons) : "as-left",
      entry: passEntryOf(form[pass]),
    }),
  );
}
