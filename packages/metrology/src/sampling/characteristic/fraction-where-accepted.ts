/**
 * Fraction nonconforming at which a plan's probability of acceptance comes down to a given one.
 *
 * @param acceptance probability of acceptance at a fraction nonconforming: 1 at 0, falling, 0 at 1
 * @param probability 0 < probability < 1
 * @returns fraction nonconforming
 * @throws RangeError if the probability is not between 0 and 1, or the plan accepts everything
 * @example fractionWhereAccepted((p) => 1 - p, 0.25) // 0.75
 */
export function fractionWhereAccepted(acceptance: (fraction: number) => number, probability: number): number {
  if (!(probability > 0 && probability < 1)) throw new RangeError("a probability must lie between 0 and 1");
  if (acceptance(1) > probability) throw new RangeError("a plan that accepts everything has no such point");
  let low = 0;
  let high = 1;
  for (let step = 0; step < 200; step += 1) {
    const middle = (low + high) / 2;
    if (middle <= low || middle >= high) break;
    if (acceptance(middle) > probability) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}
