import { normalCdf } from "../statistics/normal-cdf.ts";
import { checkedLimits, type IntervalLimits } from "./checked-limits.ts";

export interface SpecificRisk {
  /** Probability that the true value lies within the limits, given what was measured. */
  conformanceProbability: number;
  /** What is left to 1: the probability that accepting would be false. */
  falseAcceptProbability: number;
}

/**
 * Probability that accepting one measured item would be false, from its own measurement alone: the true value is
 * normal about the measured one.
 *
 * @param measured the measured value y
 * @param standardUncertainty u of that value, same unit; >= 0 (at 0 the answer is 0 or 1, the limits inclusive)
 * @param limits tolerance limits, at least one of them; lower < upper
 * @returns conformance probability and the probability of false accept
 * @throws RangeError if there is no limit, the limits cross, or the uncertainty is negative or not finite
 * @source JCGM 106:2012, 7.2 to 7.4: p_c = F((T_U - y)/u) - F((T_L - y)/u)
 * @example specificFalseAccept(-5.47, 0.05, { lower: null, upper: -5.4 }) // conformance 0.919 (Zener example)
 */
export function specificFalseAccept(
  measured: number,
  standardUncertainty: number,
  limits: IntervalLimits,
): SpecificRisk {
  const { lower, upper } = checkedLimits(limits);
  if (!(standardUncertainty >= 0) || !Number.isFinite(standardUncertainty)) {
    throw new RangeError(
      `a standard uncertainty must be finite and not negative, got ${standardUncertainty}`,
    );
  }
  if (!Number.isFinite(measured)) throw new RangeError("the measured value must be finite");
  if (standardUncertainty === 0) {
    const inside = measured >= lower && measured <= upper;
    return { conformanceProbability: inside ? 1 : 0, falseAcceptProbability: inside ? 0 : 1 };
  }
  // Each tail by itself keeps its digits; their sum would lose them if taken as 1 less the middle.
  const above = normalCdf((measured - upper) / standardUncertainty);
  const below = normalCdf((lower - measured) / standardUncertainty);
  return { conformanceProbability: Math.max(0, 1 - above - below), falseAcceptProbability: above + below };
}
