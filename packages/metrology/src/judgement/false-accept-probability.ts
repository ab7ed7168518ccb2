import type { Fraction } from "../fraction.ts";
import { normalCdf } from "../statistics/normal-cdf.ts";

/**
 * Specific probability of false accept: how likely the true value is outside the limits, given the measured value,
 * when what is known of the true value is a normal distribution about it and nothing was known before.
 *
 * @param value                measured value, in the unit of the limits
 * @param limits               lower and upper limit, in the same unit
 * @param standardUncertainty  u = U / k, in the same unit; >= 0 (0: certain)
 * @returns probability, 0 to 1
 * @throws RangeError if the standard uncertainty is negative
 * @source JCGM 106:2012, 7.2 to 7.4 (conformance probability; this is its complement)
 * @example value 13.6, u 1.8, limits 12.5 and 16.3 // 0.337, the complement of 0.66
 */
export function falseAcceptProbability(
  value: Fraction,
  limits: { lower: Fraction; upper: Fraction },
  standardUncertainty: Fraction,
): number {
  if (standardUncertainty.isLessThan("0")) {
    throw new RangeError(`a standard uncertainty is not negative, got ${standardUncertainty.toText()}`);
  }
  if (!standardUncertainty.isPositive()) {
    return value.isLessThan(limits.lower) || value.isGreaterThan(limits.upper) ? 1 : 0;
  }
  const belowLower = normalCdf(limits.lower.minus(value).dividedBy(standardUncertainty).toNumber());
  const aboveUpper = normalCdf(value.minus(limits.upper).dividedBy(standardUncertainty).toNumber());
  return belowLower + aboveUpper;
}
