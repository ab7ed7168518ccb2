import { Fraction } from "../fraction.ts";
import { type PercentRegistration, percentRegistration } from "../units.ts";
import type { AverageRule } from "./test-terms.ts";

/** What a point is in an average. */
export type AverageRole = AverageRule["weights"][number]["role"];

export type AverageOfPoints =
  | { kind: "average"; registration: PercentRegistration }
  /** Points that the rule weighs and that were not given. Nothing is assumed in their place. */
  | { kind: "missing-points"; missing: AverageRole[] };

/**
 * Average registration: each named point times its weight, over the sum of weights. Because the weights are divided
 * out, an average of signed errors is the average of registrations less 100.
 *
 * @param rule           weights by role; at least one, each role once, each weight > 0
 * @param registrations  percent registration by role; roles that the rule does not weigh are ignored
 * @returns the exact average, or which points are missing
 * @throws RangeError if the rule has no weights, repeats a role, or has a weight that is not greater than 0
 * @source the rule's own citation; 04 NCAC 11 R08-11 for methods 1 to 4, N.D. Admin. Code 69-09-02-27
 * @example method 1 of full load 100.2 and light load 99.4 // 100.04
 */
export function averageRegistration(
  rule: Pick<AverageRule, "weights">,
  registrations: Partial<Record<AverageRole, PercentRegistration>>,
): AverageOfPoints {
  requireUsableWeights(rule.weights);
  const missing: AverageRole[] = [];
  let weighted = Fraction.of(0n);
  let total = Fraction.of(0n);
  for (const { role, weight } of rule.weights) {
    const registration = registrations[role];
    if (registration === undefined) {
      missing.push(role);
      continue;
    }
    weighted = weighted.plus(registration.times(weight));
    total = total.plus(weight);
  }
  if (missing.length > 0) {
    return { kind: "missing-points", missing };
  }
  return { kind: "average", registration: percentRegistration(weighted.dividedBy(total)) };
}

function requireUsableWeights(weights: AverageRule["weights"]): void {
  if (weights.length === 0) {
    throw new RangeError("an average needs at least one weight");
  }
  if (new Set(weights.map(({ role }) => role)).size !== weights.length) {
    throw new RangeError("an average weighs each role once");
  }
  for (const { role, weight } of weights) {
    if (!Fraction.of(weight).isPositive()) {
      throw new RangeError(`the weight of ${role} must be greater than 0, got ${weight}`);
    }
  }
}
