import erfc from "@stdlib/math-base-special-erfc";

/**
 * Distribution function of the standard normal distribution: the probability of a value at or below z.
 * The complementary error function keeps the lower tail exact to its last digits, where 1 - erf would lose them.
 *
 * @param z standardized value, dimensionless; any number but NaN (the infinities give 0 and 1)
 * @returns probability, 0 to 1
 * @throws RangeError if z is NaN
 * @source JCGM 106:2012, 7.3.2 and Table 1 (the values of z for one-sided conformance)
 * @example normalCdf(1.4) // 0.9192433407662289 (JCGM 106:2012, the Zener example prints 0.92)
 */
export function normalCdf(z: number): number {
  if (Number.isNaN(z)) throw new RangeError("z must be a number");
  return 0.5 * erfc(-z / Math.SQRT2);
}
