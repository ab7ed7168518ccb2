import { Decimal } from "../decimal.ts";
import { Fraction } from "../fraction.ts";
import { type PercentRegistration, percentRegistration } from "../units.ts";

/** What several runs at one point say together. Standard deviation and range need two runs. */
export interface RunStatistics {
  /** Exact mean; this is what is judged. */
  mean: PercentRegistration;
  /** Sample standard deviation (divisor n - 1), to 40 digits; null for a single run. */
  sampleStandardDeviation: Decimal | null;
  /** Largest less smallest, exact; null for a single run. */
  range: Fraction | null;
}

/**
 * Mean, sample standard deviation and range of repeated runs. No run is dropped.
 *
 * @param runs  n >= 1 percent registrations, any order
 * @throws RangeError for an empty list
 * @source JCGM 100:2008, 4.2.1 and 4.2.2
 * @example meanOfRuns([1.2, 1.1, 1.3]) // mean 1.2, standard deviation 0.1, range 0.2
 */
export function meanOfRuns(runs: PercentRegistration[]): RunStatistics {
  const [first] = runs;
  if (first === undefined) {
    throw new RangeError("a mean needs at least one run");
  }
  const total = runs.reduce((sum, run) => sum.plus(run), Fraction.of(0n));
  const mean = total.dividedBy(BigInt(runs.length));
  if (runs.length === 1) {
    return { mean: percentRegistration(mean), sampleStandardDeviation: null, range: null };
  }
  const squares = runs.reduce((sum, run) => {
    const deviation = run.minus(mean);
    return sum.plus(deviation.times(deviation));
  }, Fraction.of(0n));
  const variance = squares.dividedBy(BigInt(runs.length - 1));
  const smallest = runs.reduce((least, run) => (run.isLessThan(least) ? run : least), first);
  const largest = runs.reduce((most, run) => (run.isGreaterThan(most) ? run : most), first);
  return {
    mean: percentRegistration(mean),
    sampleStandardDeviation: Decimal.sqrt(variance.toDecimal()),
    range: largest.minus(smallest),
  };
}
