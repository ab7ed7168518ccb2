import { Fraction } from "../fraction.ts";
import type { AverageRole } from "./average-registration.ts";
import type { AverageRule } from "./test-terms.ts";

/** Symbols of the roles in formulas. */
export const roleSymbols: Record<AverageRole, string> = {
  "full-load": "FL",
  "light-load": "LL",
  "power-factor": "PF",
};

/**
 * The formula of an average, written out.
 *
 * @param weights  weights by role, in the order in which they are written
 * @example averageFormula(method 4) // "R_avg = (4 FL + 2 LL + PF) / 7"
 */
export function averageFormula(weights: AverageRule["weights"]): string {
  const terms = weights.map(({ role, weight }) =>
    Fraction.of(weight).equals("1") ? roleSymbols[role] : `${weight} ${roleSymbols[role]}`,
  );
  const total = weights.reduce((sum, { weight }) => sum.plus(weight), Fraction.of(0n));
  const [only] = terms;
  return terms.length === 1 && total.equals("1")
    ? `R_avg = ${only}`
    : `R_avg = (${terms.join(" + ")}) / ${total.toText()}`;
}
