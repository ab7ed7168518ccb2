import { spreadOfReliability } from "./spread-of-reliability.ts";

export type PopulationSpread =
  | { kind: "spread"; standardDeviation: number }
  | { kind: "uncertainty-too-large"; reason: string };

/**
 * Standard deviation of a centred normal population from the share observed in tolerance, which the measurement's own scatter has lowered: the
 * variance of the readings is the population's plus the measurement's.
 *
 * @param tolerance half-width T of the limits about the population's mean; > 0
 * @param observedInTolerance share of readings within the limits, 0 < share < 1
 * @param standardUncertainty u of one reading, >= 0
 * @returns standard deviation of the true values, or that the uncertainty alone explains the readings
 * @throws RangeError as spreadOfReliability, or if the uncertainty is negative
 * @source ANSI/NCSL Z540.3 handbook as commonly quoted: observed variance = population's + u squared
 * @example spreadOfObservedReliability(1, 0.89, 0.25) // about 0.574
 */
export function spreadOfObservedReliability(
  tolerance: number,
  observedInTolerance: number,
  standardUncertainty: number,
): PopulationSpread {
  if (!(standardUncertainty >= 0)) throw new RangeError("a standard uncertainty cannot be negative");
  const variance =
    spreadOfReliability(tolerance, observedInTolerance) ** 2 - standardUncertainty * standardUncertainty;
  if (!(variance > 0)) {
    return {
      kind: "uncertainty-too-large",
      reason: "The uncertainty of the measurement alone explains the scatter of the readings.",
    };
  }
  return { kind: "spread", standardDeviation: Math.sqrt(variance) };
}
