import { normalCdf } from "../../statistics/normal-cdf.ts";
import { spreadNodes } from "./spread-nodes.ts";

/**
 * Probability that a non-central t exceeds t: its definition, (Z + delta) / (s / sigma) >= t, averaged over the law of s.
 *
 * @param t finite
 * @param degreesOfFreedom > 0
 * @param delta non-centrality, finite
 * @returns probability, 0 to 1; absolute error below 1e-13
 * @throws RangeError if an argument is not finite or the degrees of freedom are not positive
 * @source Resnikoff and Lieberman, Tables of the Non-Central t-Distribution (1957)
 * @example noncentralTUpperTail(0, 9, 0) // 0.5
 */
export function noncentralTUpperTail(t: number, degreesOfFreedom: number, delta: number): number {
  if (!(degreesOfFreedom > 0 && Number.isFinite(degreesOfFreedom))) {
    throw new RangeError("degrees of freedom must be positive");
  }
  if (!Number.isFinite(t) || !Number.isFinite(delta)) throw new RangeError("t and delta must be finite");
  const step = Math.min(0.05, 0.32 / Math.sqrt(degreesOfFreedom + (t * t) / 2));
  const { spreads, weights } = spreadNodes(degreesOfFreedom, step);
  let sum = 0;
  for (let place = 0; place < spreads.length; place += 1) {
    sum += (weights[place] as number) * normalCdf(delta - t * (spreads[place] as number));
  }
  return Math.min(1, sum);
}
