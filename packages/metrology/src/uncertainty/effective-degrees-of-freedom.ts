/**
 * Effective degrees of freedom of a combined standard uncertainty, by the Welch-Satterthwaite formula:
 * u_c^4 / sum(u_i^4 / nu_i).
 *
 * @param contributions independent parts of the result's uncertainty, each in the unit of the result, with its
 *   degrees of freedom (null: without limit)
 * @returns effective degrees of freedom, unrounded; null when they are without limit
 * @throws RangeError if degrees of freedom are given that are not positive
 * @source JCGM 100:2008, equation (G.2b)
 * @example effectiveDegreesOfFreedom([{ contribution: 1, degreesOfFreedom: 9 }]) // 9
 */
export function effectiveDegreesOfFreedom(
  contributions: readonly { contribution: number; degreesOfFreedom: number | null }[],
): number | null {
  // The ratios to the largest part keep the fourth powers of very small uncertainties from underflowing.
  const largest = Math.max(0, ...contributions.map(({ contribution }) => Math.abs(contribution)));
  if (largest === 0) return null;
  let variance = 0;
  let denominator = 0;
  for (const { contribution, degreesOfFreedom } of contributions) {
    const square = (contribution / largest) ** 2;
    variance += square;
    if (degreesOfFreedom === null) continue;
    if (!(degreesOfFreedom > 0)) {
      throw new RangeError(`degrees of freedom must be positive, got ${degreesOfFreedom}`);
    }
    denominator += (square * square) / degreesOfFreedom;
  }
  return denominator === 0 ? null : (variance * variance) / denominator;
}
