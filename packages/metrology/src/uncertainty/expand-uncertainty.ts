import { type CombinedUncertainty, type Correlation, combineUncertainty } from "./combine-uncertainty.ts";
import { coverageFactor } from "./coverage-factor.ts";
import { truncateDegreesOfFreedom } from "./truncate-degrees-of-freedom.ts";
import type { UncertaintyComponent } from "./uncertainty-component.ts";

/** How wide the interval shall be: by a level of confidence, or by a coverage factor that was agreed. */
export type Coverage = { levelOfConfidence: number } | { coverageFactor: number };

export interface ExpandedUncertainty extends CombinedUncertainty {
  kind: "expanded";
  /** Effective degrees of freedom cut to the whole number that t was taken for; null when without limit. */
  truncatedDegreesOfFreedom: number | null;
  /** The level asked for; null when the coverage factor was given instead. */
  levelOfConfidence: number | null;
  coverageFactor: number;
  /** Expanded uncertainty U = k u_c in the unit of the result. */
  expanded: number;
}

/** Correlated inputs have no degrees of freedom by Welch-Satterthwaite, so a level of confidence has no t. */
export interface CoverageRefusal {
  kind: "coverage-factor-needed";
  reason: string;
}

/**
 * Expanded uncertainty of a result from its budget.
 *
 * @param components one or more, with labels that differ
 * @param coverage a level of confidence (0 < p < 1), or a coverage factor (> 0)
 * @param correlations for pairs of inputs that are not independent; they need a coverage factor
 * @returns the expanded uncertainty and all that led to it, or why a level of confidence cannot be used
 * @throws RangeError as combineUncertainty and coverageFactor do, or if a given coverage factor is not positive
 * @source JCGM 100:2008, 6.2.1 and G.6.4
 * @example
 * expandUncertainty([{ label: "certificate", value: 0.02, distribution: "normal", divisor: 2 }], {
 *   coverageFactor: 2,
 * }) // expanded 0.02
 */
export function expandUncertainty(
  components: readonly UncertaintyComponent[],
  coverage: Coverage,
  correlations: readonly Correlation[] = [],
): ExpandedUncertainty | CoverageRefusal {
  const combined = combineUncertainty(components, correlations);
  const truncatedDegreesOfFreedom = truncateDegreesOfFreedom(combined.effectiveDegreesOfFreedom);
  if ("coverageFactor" in coverage) {
    const factor = coverage.coverageFactor;
    if (!(factor > 0) || !Number.isFinite(factor)) {
      throw new RangeError(`a coverage factor must be positive, got ${factor}`);
    }
    return {
      kind: "expanded",
      ...combined,
      truncatedDegreesOfFreedom,
      levelOfConfidence: null,
      coverageFactor: factor,
      expanded: factor * combined.combined,
    };
  }
  if (correlations.length > 0) {
    return {
      kind: "coverage-factor-needed",
      reason:
        "The inputs are correlated, so their degrees of freedom cannot be combined; give a coverage factor instead of a level of confidence.",
    };
  }
  const factor = coverageFactor(coverage.levelOfConfidence, truncatedDegreesOfFreedom);
  return {
    kind: "expanded",
    ...combined,
    truncatedDegreesOfFreedom,
    levelOfConfidence: coverage.levelOfConfidence,
    coverageFactor: factor,
    expanded: factor * combined.combined,
  };
}
