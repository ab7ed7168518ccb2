import { normalCdf } from "../statistics/normal-cdf.ts";
import { checkedLimits, type IntervalLimits } from "./checked-limits.ts";
import { integrate } from "./integrate.ts";
import { requireSpread } from "./require-spread.ts";

export interface GlobalRisk {
  /** Share of the population outside the tolerance limits. */
  nonconformingProbability: number;
  /** Share of all items that the measurement accepts. */
  acceptedProbability: number;
  /** Probability of false accept, PFA: an item drawn at random does not conform and is accepted. */
  falseAcceptProbability: number;
  /** Probability of false reject, PFR: an item drawn at random conforms and is rejected. */
  falseRejectProbability: number;
  /** Share of the accepted items that do not conform; null when nothing is accepted. */
  conditionalFalseAcceptProbability: number | null;
}

/** A population's density, where it is worth looking at, and where it bends. */
export interface PriorDensity {
  density(x: number): number;
  /** Interval outside which the density counts as zero. */
  from: number;
  to: number;
  /** Points between which the density is smooth on the scale of their spacing. */
  breaks: readonly number[];
}

/** Beyond this many standard deviations a normal density is below 10^-32 of its peak. */
const reach = 12;

/**
 * Global risk of an acceptance rule for any population whose density is known, with a normal measurement error.
 *
 * @param prior density of the true values, which integrates to 1
 * @param standardUncertainty, tolerance, acceptance as for globalRisk
 * @returns as globalRisk
 * @throws RangeError as globalRisk
 * @source JCGM 106:2012, equations (17) and (18)
 */
export function riskOverPrior(
  prior: PriorDensity,
  standardUncertainty: number,
  tolerance: IntervalLimits,
  acceptance: IntervalLimits = tolerance,
): GlobalRisk {
  requireSpread("the standard uncertainty", standardUncertainty);
  const { lower, upper } = checkedLimits(tolerance);
  const { lower: acceptFrom, upper: acceptTo } = checkedLimits(acceptance);

  const accepts = (x: number) => {
    // The nearer tail of each limit is subtracted, so that a small difference keeps its digits.
    const middle = (acceptFrom + acceptTo) / 2;
    return Number.isFinite(middle) && x > middle
      ? normalCdf((x - acceptFrom) / standardUncertainty) - normalCdf((x - acceptTo) / standardUncertainty)
      : normalCdf((acceptTo - x) / standardUncertainty) - normalCdf((acceptFrom - x) / standardUncertainty);
  };
  const rejects = (x: number) =>
    normalCdf((x - acceptTo) / standardUncertainty) + normalCdf((acceptFrom - x) / standardUncertainty);

  const bends = [...prior.breaks, lower, upper];
  for (const limit of [acceptFrom, acceptTo]) {
    for (let i = -reach; i <= reach; i += 1) bends.push(limit + i * standardUncertainty);
  }
  const over = (f: (x: number) => number, from: number, to: number) => {
    const start = Math.max(from, prior.from);
    const end = Math.min(to, prior.to);
    if (!(start < end)) return 0;
    const between = bends.filter((x) => x > start && x < end).sort((a, b) => a - b);
    return integrate((x) => prior.density(x) * f(x), [start, ...between, end]);
  };
  const outside = (f: (x: number) => number) =>
    over(f, Number.NEGATIVE_INFINITY, lower) + over(f, upper, Number.POSITIVE_INFINITY);

  const falseAcceptProbability = outside(accepts);
  const acceptedProbability = falseAcceptProbability + over(accepts, lower, upper);
  return {
    nonconformingProbability: outside(() => 1),
    acceptedProbability,
    falseAcceptProbability,
    falseRejectProbability: over(rejects, lower, upper),
    conditionalFalseAcceptProbability:
      acceptedProbability > 0 ? falseAcceptProbability / acceptedProbability : null,
  };
}
