import { deviancePart } from "./deviance-part.ts";
import type { CountingLaw } from "./lower-tail.ts";
import { stirlingRest } from "./stirling-rest.ts";

/**
 * Law of the nonconformities in a sample, where a unit may have several: AQLs above 10 count so.
 *
 * @param expected nonconformities expected in the sample, finite, >= 0
 * @returns the Poisson law
 * @throws RangeError if the expected number is negative or not finite
 * @source MIL-STD-105E, 4.11.1: curves for AQLs above 10 rest on the Poisson law
 */
export function poissonLaw(expected: number): CountingLaw {
  if (!(expected >= 0 && Number.isFinite(expected)))
    throw new RangeError("the expected number must not be negative");
  return {
    least: 0,
    most: expected === 0 ? 0 : Number.POSITIVE_INFINITY,
    mode: Math.floor(expected),
    probability: (x) => {
      if (expected === 0) return x === 0 ? 1 : 0;
      if (x === 0) return Math.exp(-expected);
      return Math.exp(-stirlingRest(x) - deviancePart(x, expected)) / Math.sqrt(2 * Math.PI * x);
    },
    ratioUp: (x) => expected / (x + 1),
  };
}
