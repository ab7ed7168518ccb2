import type { JudgingRules } from "@sealbook/contract/profiles";
import type { TestReason } from "@sealbook/contract/work-items";
import { evaluatePass } from "@sealbook/metrology/accuracy/evaluate-pass";
import type { PassEvaluation } from "@sealbook/metrology/accuracy/pass-evaluation";
import { type Nameplate, type PlanAsks, passInput } from "@sealbook/metrology/accuracy/pass-input";
import type { CertifiedPoint, Occasion, PlanPoint } from "@sealbook/metrology/accuracy/test-terms";
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
 * Evaluates one pass as typed, with the function and the inputs that the service will use again.
 *
 * @param occasion  whose limits hold; registrations and errors are the same on every occasion
 */
export function evaluateForm(
  form: TestForm,
  pass: FormPass,
  context: JudgingContext,
  occasion: Occasion,
): PassEvaluation {
  const { certifiedPoints, nameplate, points, asks, rules } = context;
  const standard =
    certifiedPoints === null || form.errorAppliedByBench === ""
      ? null
      : { certifiedPoints, errorAppliedByBench: form.errorAppliedByBench === "yes" };
  return evaluatePass(
    passInput({ nameplate, points, asks, rules, standard, occasion, entry: passEntryOf(form[pass]) }),
  );
}
