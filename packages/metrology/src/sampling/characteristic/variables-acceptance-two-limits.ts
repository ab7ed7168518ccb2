import { normalCdf } from "../../statistics/normal-cdf.ts";
import { normalQuantile } from "../../statistics/normal-quantile.ts";
import { requireWhole } from "../require-whole.ts";
import { percentBeyondLimit } from "../variables/percent-beyond-limit.ts";
import { indexAtPercent } from "./index-at-percent.ts";
import { integrateToEnds } from "./integrate-to-ends.ts";
import { logSpreadDensity } from "./spread-nodes.ts";
import { variablesAcceptance } from "./variables-acceptance.ts";

/** Fractions nonconforming of a process at either limit. */
export interface FractionsBeyond {
  lower: number;
  upper: number;
}

/**
 * Probability of acceptance by Form 2 with both limits and one M, variability unknown, standard deviation method.
 *
 * With two limits the same fraction nonconforming may lie at one limit or be shared, and the probability depends on it
 * (a little): the fractions at both limits fix mean and sigma against the limits, so both are arguments. For each s the
 * means that are accepted form a band about the middle of the limits; the band is averaged over the law of the mean, then
 * over the law of s. Nothing is accepted when s exceeds the largest s the plan allows at all.
 *
 * @param plan sample size (whole, >= 3) and M in percent, 0 < M < 100
 * @param fractions fractions nonconforming below and above, each >= 0, together < 1
 * @returns probability, 0 to 1; absolute error below 1e-11
 * @throws RangeError if a number is outside its range
 * @source MIL-STD-414 (1957), B-8; its curves are those of one limit, which this confirms and corrects
 * @example variablesAcceptanceTwoLimits({ n: 4, maximumPercent: 10 }, { lower: 0, upper: 0.05 }) // as with one limit
 */
export function variablesAcceptanceTwoLimits(
  plan: { n: number; maximumPercent: number },
  fractions: FractionsBeyond,
): number {
  const { n, maximumPercent } = plan;
  requireWhole(n, 3, "the sample size");
  if (!(maximumPercent > 0 && maximumPercent < 100)) throw new RangeError("M must lie between 0 and 100");
  const { lower, upper } = fractions;
  if (!(lower >= 0 && upper >= 0 && lower + upper < 1)) {
    throw new RangeError("the fractions must not be negative and must stay below 1 together");
  }
  // With nothing beyond one limit it is infinitely far away, and the plan is one with a single limit.
  if (lower === 0 || upper === 0) return variablesAcceptance(plan, lower + upper);

  const upperLimit = -normalQuantile(upper);
  const lowerLimit = normalQuantile(lower);
  const half = (upperLimit - lowerLimit) / 2;
  const middle = (upperLimit + lowerLimit) / 2;
  const end = (n - 1) / Math.sqrt(n);
  const k = indexAtPercent(maximumPercent, n);
  const root = Math.sqrt(n);

  const estimateAt = (distance: number, s: number) =>
    percentBeyondLimit((half - distance) / s, n) + percentBeyondLimit((half + distance) / s, n);
  const probabilityWithin = (distance: number) =>
    normalCdf(root * (middle + distance)) - normalCdf(root * (middle - distance));

  // Up to this s the far limit adds nothing at the edge of the band, and the edge is that of one limit.
  const plainSpread = (2 * half) / (k + end);
  // Up to this s the middle of the limits is accepted.
  const middleSpread = half / indexAtPercent(maximumPercent / 2, n);

  const bandAt = (s: number): number => {
    const outer =
      s <= plainSpread
        ? half - k * s
        : edgeOfBand((distance) => estimateAt(distance, s), maximumPercent, half);
    // For n = 3 the estimate falls away from the middle before it rises: a wide spread is refused in the middle itself.
    const inner =
      s <= middleSpread
        ? 0
        : edgeOfBand((distance) => -estimateAt(distance, s), -maximumPercent, end * s - half);
    return probabilityWithin(outer) - (inner > 0 ? probabilityWithin(inner) : 0);
  };

  const degreesOfFreedom = n - 1;
  const density = (y: number) => Math.exp(logSpreadDensity(degreesOfFreedom, y));
  const [start, stop] = rangeOfSpread(degreesOfFreedom);
  const norm = integrateToEnds(density, start, stop);
  const integrand = (y: number) => {
    const weight = density(y);
    // Out there the band is not worth its search.
    return weight < 1e-16 ? 0 : weight * bandAt(Math.exp(y));
  };
  // Pieces end where the band changes its law, so that the quadrature meets rough places only at ends.
  const ends = [...new Set([plainSpread, n === 3 ? Math.min(middleSpread, plainSpread) : middleSpread])]
    .map((spread) => Math.min(stop, Math.max(start, Math.log(spread))))
    .sort((a, b) => a - b);
  let sum = 0;
  let from = start;
  for (const to of ends) {
    sum += integrateToEnds(integrand, from, to);
    from = to;
  }
  return Math.min(1, sum / norm);
}

/** Largest distance from the middle at which a rising estimate stays at the bound: regula falsi (Illinois), bracketed. */
function edgeOfBand(estimate: (distance: number) => number, bound: number, farthest: number): number {
  let low = 0;
  let high = farthest;
  let below = estimate(low) - bound;
  let above = estimate(high) - bound;
  if (below >= 0) return 0;
  if (above <= 0) return high;
  let side = 0;
  for (let step = 0; step < 100 && high - low > 1e-14 * farthest; step += 1) {
    // Every eighth step halves the bracket, so that a flat stretch cannot hold the search up.
    const distance = step % 8 === 7 ? (low + high) / 2 : (low * above - high * below) / (above - below);
    const value = estimate(distance) - bound;
    if (Math.abs(value) < 1e-14 * Math.abs(bound)) return distance;
    if (value > 0) {
      high = distance;
      above = value;
      if (side > 0) below /= 2;
      side = 1;
    } else {
      low = distance;
      below = value;
      if (side < 0) above /= 2;
      side = -1;
    }
  }
  return (low + high) / 2;
}

/** Where the density of ln(s / sigma) is above 1e-19 of its peak. */
function rangeOfSpread(degreesOfFreedom: number): [number, number] {
  const place = (inside: number, outside: number): number => {
    let near = inside;
    let far = outside;
    for (let step = 0; step < 60; step += 1) {
      const y = (near + far) / 2;
      if (logSpreadDensity(degreesOfFreedom, y) > -44) near = y;
      else far = y;
    }
    return far;
  };
  return [place(0, -50), place(0, 5)];
}
