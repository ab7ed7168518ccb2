import { fractionWhereAccepted } from "./fraction-where-accepted.ts";

/** A point of an operating characteristic. */
export interface CharacteristicPoint {
  /** Fraction nonconforming. */
  fraction: number;
  /** Probability of acceptance. */
  probability: number;
}

/**
 * Points of an operating characteristic for drawing, in equal steps from nothing nonconforming to where acceptance is rare.
 *
 * @param acceptance probability of acceptance at a fraction nonconforming: 1 at 0, falling, 0 at 1
 * @param points how many, whole, at least 2
 * @returns points in rising order; the last one is accepted once in 200 times, or stands at 1 where all is accepted
 * @throws RangeError if fewer than two points are asked for
 */
export function characteristicCurve(
  acceptance: (fraction: number) => number,
  points = 101,
): CharacteristicPoint[] {
  if (!Number.isInteger(points) || points < 2) throw new RangeError("a curve needs two points or more");
  const last = acceptance(1) > 0.005 ? 1 : fractionWhereAccepted(acceptance, 0.005);
  return Array.from({ length: points }, (_, place) => {
    const fraction = (last * place) / (points - 1);
    return { fraction, probability: acceptance(fraction) };
  });
}
