import { requireWhole } from "../require-whole.ts";

/** Lower ends of the ranges of sample units that Table VIII prints. */
const sampleUnitSteps = [
  20, 30, 50, 80, 130, 200, 320, 500, 800, 1250, 2000, 3150, 5000, 8000, 12_500, 20_000, 31_500,
] as const;

/**
 * Limit number for reduced inspection: how many nonconforming units the last ten lots may show together.
 *
 * Table VIII is the whole part of m - 1.2816 sqrt(m), where m is the lower end of the range of sample units times the
 * AQL over 100; 1.2816 is the normal deviate of 90 %. The closed form reproduces every cell that could be read.
 *
 * @param sampleUnits sample units inspected in the last ten lots (more where the table asks for more), whole, >= 0
 * @param aql percent nonconforming or nonconformities per 100 units, > 0
 * @returns the limit number, or null where the sample units are too few: then more than ten lots are counted
 * @throws RangeError if the sample units are not whole or the AQL is not positive
 * @source MIL-STD-105E (10 May 1989), Table VIII and its footnote; 4.7.3 b
 * @example limitNumber(800, 1) // 4
 */
export function limitNumber(sampleUnits: number, aql: number): number | null {
  requireWhole(sampleUnits, 0, "the number of sample units");
  if (!(aql > 0 && Number.isFinite(aql))) throw new RangeError("the AQL must be positive");
  const lowerEnd = sampleUnitSteps.findLast((step) => step <= sampleUnits);
  if (lowerEnd === undefined) return null;
  const expected = (lowerEnd * aql) / 100;
  const limit = Math.floor(expected - 1.2816 * Math.sqrt(expected));
  return limit < 0 ? null : limit;
}
