import erfcinv from "@stdlib/math-base-special-erfcinv";

/**
 * Quantile of the standard normal distribution: the z below which a value falls with probability p.
 *
 * @param p probability, 0 <= p <= 1 (the ends give the infinities)
 * @returns standardized value z
 * @throws RangeError if p is not between 0 and 1
 * @source JCGM 106:2012, Table 1: p 0.95 gives z 1.64, p 0.99 gives 2.33
 * @example normalQuantile(0.975) // 1.959963984540054
 */
export function normalQuantile(p: number): number {
  if (!(p >= 0 && p <= 1)) throw new RangeError("a probability must lie between 0 and 1");
  return p === 0.5 ? 0 : -Math.SQRT2 * erfcinv(2 * p);
}
