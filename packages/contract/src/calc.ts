import { accuracyCalculations } from "./calc-accuracy.ts";
import { billingCalculations } from "./calc-billing.ts";
import { demandCalculations } from "./calc-demand.ts";
import { planningCalculations } from "./calc-planning.ts";
import { riskCalculations } from "./calc-risk.ts";
import { samplingCalculations } from "./calc-sampling.ts";
import { uncertaintyCalculations } from "./calc-uncertainty.ts";
import type { Calculation, CalculationOutcome } from "./calculation.ts";
import { sentenceOfIssue } from "./sentence-of-issue.ts";

/** Every calculation that the command line and the service offer; names are unique. */
export const calculations: readonly Calculation[] = [
  ...accuracyCalculations,
  ...planningCalculations,
  ...uncertaintyCalculations,
  ...riskCalculations,
  ...demandCalculations,
  ...billingCalculations,
  ...samplingCalculations,
];

/** @returns the calculation of that name, or null */
export function findCalculation(name: string): Calculation | null {
  return calculations.find((calculation) => calculation.name === name) ?? null;
}

/**
 * Parses an input with the calculation's own schema and computes it.
 *
 * @param calculation one of the table
 * @param input any JSON value
 * @returns the calculation's output, or a refusal that names each field that is wrong
 */
export function calculate(calculation: Calculation, input: unknown): CalculationOutcome {
  const parsed = calculation.input.safeParse(input);
  if (!parsed.success) {
    const complaints = parsed.error.issues.map((issue) => {
      const pointer = issue.path.map((part) => `/${String(part)}`).join("");
      return pointer === "" ? sentenceOfIssue(issue) : `${pointer}: ${sentenceOfIssue(issue)}`;
    });
    return { error: complaints.join(" ") };
  }
  return calculation.run(parsed.data);
}
