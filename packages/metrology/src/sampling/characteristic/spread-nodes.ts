/** Points and weights that average a function of s / sigma over its law; the weights add up to 1. */
export interface SpreadNodes {
  spreads: readonly number[];
  weights: readonly number[];
}

/**
 * Nodes for averaging over the sample standard deviation of a normal sample, in units of sigma.
 *
 * In y = ln(s / sigma) the density falls off so fast on both sides that the plain sum over equal steps is exact to the
 * last digits (trapezoidal rule), and it makes its own norm.
 *
 * @param degreesOfFreedom n - 1, > 0
 * @param step length of a step in y, > 0; must resolve both the density and the function averaged
 * @returns the nodes
 * @source Trefethen and Weideman, The Exponentially Convergent Trapezoidal Rule (2014)
 */
export function spreadNodes(degreesOfFreedom: number, step: number): SpreadNodes {
  const logDensity = (y: number) => logSpreadDensity(degreesOfFreedom, y);
  const spreads: number[] = [];
  const weights: number[] = [];
  let total = 0;
  const add = (y: number): boolean => {
    const weight = Math.exp(logDensity(y));
    spreads.push(Math.exp(y));
    weights.push(weight);
    total += weight;
    return weight > 1e-19;
  };
  for (let place = 0; add(place * step); place += 1);
  for (let place = -1; add(place * step); place -= 1);
  return { spreads, weights: weights.map((weight) => weight / total) };
}

/**
 * Logarithm of the density of y = ln(s / sigma), less its value at 0, where it is largest.
 *
 * @param degreesOfFreedom n - 1, > 0
 * @param y logarithm of s over sigma
 * @returns logarithm, <= 0
 */
export function logSpreadDensity(degreesOfFreedom: number, y: number): number {
  return degreesOfFreedom * (y - Math.expm1(2 * y) / 2);
}
