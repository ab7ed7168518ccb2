import { globalRisk } from "./global-risk.ts";

/**
 * Smallest guard band, the same at both limits, that keeps the probability of false accept of a normal population
 * at or under a bound.
 *
 * @param population mean and standard deviation (> 0) of the true values
 * @param standardUncertainty u of one measurement; > 0
 * @param tolerance both limits, lower < upper
 * @param maxProbability bound on the global probability of false accept, 0 < p < 1
 * @returns width of the band in the unit of the limits; 0 when none is needed
 * @throws RangeError as globalRisk, or if the bound lies outside 0..1
 * @source JCGM 106:2012, 9.5; solved by bisection
 * @example
 * guardBandForFalseAccept({ mean: 9.5, standardDeviation: 0.3 }, 0.1, { lower: 9, upper: 10 }, 0.005)
 * // 0.09207
 */
export function guardBandForFalseAccept(
  population: { mean: number; standardDeviation: number },
  standardUncertainty: number,
  tolerance: { lower: number; upper: number },
  maxProbability: number,
): number {
  if (!(maxProbability > 0 && maxProbability < 1)) {
    throw new RangeError(`a probability lies between 0 and 1, got ${maxProbability}`);
  }
  const falseAccept = (width: number) =>
    globalRisk(population, standardUncertainty, tolerance, {
      lower: tolerance.lower + width,
      upper: tolerance.upper - width,
    }).falseAcceptProbability;
  if (falseAccept(0) <= maxProbability) return 0;

  // Invariant: `narrow` does not keep the bound, `wide` does. An interval of no width accepts nothing, so it does.
  let narrow = 0;
  let wide = (tolerance.upper - tolerance.lower) / 2;
  const resolution = 1e-13 * wide;
  while (wide - narrow > resolution) {
    const middle = (narrow + wide) / 2;
    if (falseAccept(middle) <= maxProbability) wide = middle;
    else narrow = middle;
  }
  return wide;
}
