/** A law on whole numbers from least to most with one mode, told by one probability and the ratios of neighbours. */
export interface CountingLaw {
  /** Smallest value with a probability above 0. */
  least: number;
  /** Largest such value; Infinity where there is none. */
  most: number;
  /** A most probable value. */
  mode: number;
  /** Probability of exactly x. */
  probability(x: number): number;
  /** Probability of x + 1 over the probability of x. */
  ratioUp(x: number): number;
}

/**
 * Probability of at most c. Terms are summed from the end of the tail that lies nearer the mode outwards, so that each is
 * smaller than the one before and the sum keeps its digits; above the mode the other tail is taken off 1.
 *
 * @param law the law
 * @param c whole number
 * @returns probability, 0 to 1
 */
export function lowerTail(law: CountingLaw, c: number): number {
  if (c < law.least) return 0;
  if (c >= law.most) return 1;
  if (c >= law.mode) return 1 - sumUpwards(law, c + 1);
  return sumDownwards(law, c);
}

/**
 * Probability of at least c, summed as {@link lowerTail} does.
 *
 * @param law the law
 * @param c whole number
 * @returns probability, 0 to 1
 */
export function upperTail(law: CountingLaw, c: number): number {
  if (c <= law.least) return 1;
  if (c > law.most) return 0;
  if (c <= law.mode) return 1 - sumDownwards(law, c - 1);
  return sumUpwards(law, c);
}

function sumUpwards(law: CountingLaw, from: number): number {
  let term = law.probability(from);
  let sum = term;
  for (let x = from; x < law.most && term > sum * 1e-18; x += 1) {
    term *= law.ratioUp(x);
    sum += term;
  }
  return sum;
}

function sumDownwards(law: CountingLaw, from: number): number {
  let term = law.probability(from);
  let sum = term;
  for (let x = from; x > law.least && term > sum * 1e-18; x -= 1) {
    term /= law.ratioUp(x - 1);
    sum += term;
  }
  return sum;
}
