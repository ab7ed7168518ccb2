/**
 * Part of the deviance: x ln(x / expected) + expected - x, without the loss of digits where x is near the expected.
 *
 * @param x observed, > 0
 * @param expected > 0
 * @returns the part, >= 0
 * @source Loader, Fast and Accurate Computation of Binomial Probabilities (2000), section 3
 * @example deviancePart(3, 3) // 0
 */
export function deviancePart(x: number, expected: number): number {
  const difference = x - expected;
  if (Math.abs(difference) >= 0.1 * (x + expected)) return x * Math.log(x / expected) - difference;
  const ratio = difference / (x + expected);
  let sum = difference * ratio;
  let term = 2 * x * ratio;
  for (let j = 1; ; j += 1) {
    term *= ratio * ratio;
    const next = sum + term / (2 * j + 1);
    if (next === sum) return sum;
    sum = next;
  }
}
