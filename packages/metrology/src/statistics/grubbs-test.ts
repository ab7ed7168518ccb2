import { grubbsCriticalValue, type SuspectedEnd } from "./grubbs-critical-value.ts";
import { summaryOfValues } from "./summary-of-values.ts";

export interface GrubbsTest {
  kind: "tested";
  /** Distance of the suspect from the mean in sample standard deviations. */
  statistic: number;
  /** The statistic that a value of a normal sample exceeds only with the probability of the significance. */
  criticalValue: number;
  significance: number;
  end: SuspectedEnd;
  /** Place of the suspect in the list as given, from 0. */
  suspectIndex: number;
  suspectValue: number;
  /** Whether the statistic exceeds the critical value. The value stays in the list all the same. */
  exceeds: boolean;
}

/** The test says nothing of fewer than three values, nor of values that are all equal. */
export type GrubbsResult =
  | GrubbsTest
  | { kind: "not-testable"; reason: "fewer-than-three-values" | "no-spread" };

/**
 * Grubbs' test for one outlier. It is shown beside the values; it never removes one.
 *
 * @param values readings in one unit, any order; JSON numbers or decimal strings, finite
 * @param options.significance probability of naming a sound value, 0 < significance < 1; 0.05 unless told
 * @param options.end which end is suspected; "either" unless told, which halves the significance of each end
 * @returns the statistic, the critical value and the suspect, or why there is no test
 * @throws RangeError if the significance lies outside 0..1 or a value is not a finite number
 * @source F. E. Grubbs, Technometrics 11 (1969); NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.17.1
 * @example
 * grubbsTest([199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57], { end: "largest" })
 * // statistic 2.4687, critical value 2.032 (e-Handbook 1.3.5.17.1)
 */
export function grubbsTest(
  values: readonly (number | string)[],
  options: { significance?: number; end?: SuspectedEnd } = {},
): GrubbsResult {
  const { significance = 0.05, end = "either" } = options;
  if (!(significance > 0 && significance < 1)) {
    throw new RangeError("the significance must lie between 0 and 1");
  }
  if (values.length < 3) return { kind: "not-testable", reason: "fewer-than-three-values" };
  const { mean, standardDeviation } = summaryOfValues(values);
  if (standardDeviation === null || standardDeviation.isZero())
    return { kind: "not-testable", reason: "no-spread" };

  let suspectIndex = 0;
  let statistic = Number.NEGATIVE_INFINITY;
  values.forEach((value, index) => {
    const distance = mean.sub(value).neg().div(standardDeviation).toNumber();
    const scored = end === "either" ? Math.abs(distance) : end === "largest" ? distance : -distance;
    if (scored > statistic) {
      statistic = scored;
      suspectIndex = index;
    }
  });
  const criticalValue = grubbsCriticalValue(values.length, significance, end);
  return {
    kind: "tested",
    statistic,
    criticalValue,
    significance,
    end,
    suspectIndex,
    suspectValue: Number(values[suspectIndex]),
    exceeds: statistic > criticalValue,
  };
}
