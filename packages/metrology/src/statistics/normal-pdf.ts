const inverseRootTwoPi = 1 / Math.sqrt(2 * Math.PI);

/**
 * Density of the standard normal distribution.
 *
 * @param z standardized value, dimensionless; any number but NaN
 * @returns density, > 0 until it underflows to 0
 * @throws RangeError if z is NaN
 * @source JCGM 101:2008, 6.4.7
 * @example normalPdf(0) // 0.3989422804014327
 */
export function normalPdf(z: number): number {
  if (Number.isNaN(z)) throw new RangeError("z must be a number");
  return inverseRootTwoPi * Math.exp(-0.5 * z * z);
}
