import { effectiveDegreesOfFreedom } from "./effective-degrees-of-freedom.ts";
import { standardUncertainty } from "./standard-uncertainty.ts";
import type { UncertaintyComponent } from "./uncertainty-component.ts";

/** How far two input quantities move together; labels as in the components, coefficient from -1 to 1. */
export interface Correlation {
  between: readonly [string, string];
  coefficient: number;
}

export interface ComponentContribution {
  label: string;
  standardUncertainty: number;
  sensitivity: number;
  degreesOfFreedom: number | null;
  /** Sensitivity times standard uncertainty, with the sensitivity's sign: in the unit of the result. */
  contribution: number;
  /** Share of the sum of squares, in percent; correlations are left out of it. */
  sharePercent: number;
}

export interface CombinedUncertainty {
  /** Combined standard uncertainty u_c in the unit of the result. */
  combined: number;
  /**
   * Effective degrees of freedom by Welch-Satterthwaite, unrounded; null when they are without limit, and also
   * when inputs are correlated, for which the formula does not hold.
   */
  effectiveDegreesOfFreedom: number | null;
  contributions: ComponentContribution[];
}

/**
 * Combined standard uncertainty of a result: the law of propagation of uncertainty, to first order.
 *
 * @param components one or more, with labels that differ
 * @param correlations for pairs of inputs that are not independent; none unless given
 * @returns the combined standard uncertainty with every component's part in it
 * @throws RangeError if there is no component, a label is used twice or unknown, a coefficient lies outside -1..1,
 *   a pair is given twice, or the coefficients contradict each other so that the variance would be negative
 * @source JCGM 100:2008, equations (10), (13), (16) and G.4.1
 * @example
 * combineUncertainty([
 *   { label: "a", value: 3, distribution: "standard" },
 *   { label: "b", value: 4, distribution: "standard" },
 * ]).combined // 5
 */
export function combineUncertainty(
  components: readonly UncertaintyComponent[],
  correlations: readonly Correlation[] = [],
): CombinedUncertainty {
  if (components.length === 0) throw new RangeError("a budget needs at least one component");
  const signedByLabel = new Map<string, number>();
  const parts = components.map((component) => {
    const { label, sensitivity = 1, degreesOfFreedom = null } = component;
    if (signedByLabel.has(label)) throw new RangeError(`two components are called ${JSON.stringify(label)}`);
    if (!Number.isFinite(sensitivity)) throw new RangeError(`${label}: the sensitivity must be finite`);
    if (degreesOfFreedom !== null && !(degreesOfFreedom > 0)) {
      throw new RangeError(`${label}: degrees of freedom must be positive, got ${degreesOfFreedom}`);
    }
    const standard = standardUncertainty(component);
    signedByLabel.set(label, sensitivity * standard);
    return { label, standardUncertainty: standard, sensitivity, degreesOfFreedom };
  });

  const sumOfSquares = [...signedByLabel.values()].reduce((sum, signed) => sum + signed * signed, 0);
  const variance = sumOfSquares + covarianceTerms(signedByLabel, correlations);
  // A variance of zero may come out a hair below it when two inputs cancel.
  if (variance < -1e-12 * sumOfSquares) throw new RangeError("the correlations contradict each other");
  const combined = Math.sqrt(Math.max(0, variance));

  const contributions = parts.map((part): ComponentContribution => {
    const contribution = part.sensitivity * part.standardUncertainty;
    const sharePercent = sumOfSquares === 0 ? 0 : (100 * contribution * contribution) / sumOfSquares;
    return { ...part, contribution, sharePercent };
  });
  return {
    combined,
    effectiveDegreesOfFreedom: correlations.length > 0 ? null : effectiveDegreesOfFreedom(contributions),
    contributions,
  };
}

function covarianceTerms(signedByLabel: Map<string, number>, correlations: readonly Correlation[]): number {
  const seen = new Set<string>();
  let sum = 0;
  for (const { between, coefficient } of correlations) {
    const [first, second] = between;
    const a = signedByLabel.get(first);
    const b = signedByLabel.get(second);
    if (a === undefined || b === undefined || first === second) {
      throw new RangeError(
        `a correlation joins two components of the budget, got ${JSON.stringify(between)}`,
      );
    }
    if (!(Math.abs(coefficient) <= 1)) {
      throw new RangeError(`a correlation coefficient lies between -1 and 1, got ${coefficient}`);
    }
    const pair = JSON.stringify([...between].sort());
    if (seen.has(pair)) throw new RangeError(`the correlation of ${pair} is given twice`);
    seen.add(pair);
    sum += 2 * a * b * coefficient;
  }
  return sum;
}
