import { normalCdf } from "../../statistics/normal-cdf.ts";
import { summaryOfValues } from "../../statistics/summary-of-values.ts";

export interface AndersonDarling {
  kind: "tested";
  n: number;
  /** The statistic A squared, mean and s taken from the sample. */
  statistic: number;
  /** A squared times 1 + 0.75/n + 2.25/n^2, which the p-value belongs to. */
  adjusted: number;
  /** Probability of a statistic as large from a normal sample, approximately. */
  pValue: number;
}

/** The p-value's approximation starts at eight values; values that are all equal have no shape. */
export type AndersonDarlingResult =
  | AndersonDarling
  | { kind: "not-testable"; reason: "fewer-than-eight-values" | "no-spread" };

/**
 * Anderson-Darling test of normality with its p-value.
 *
 * @param values readings in one unit, any order; JSON numbers or decimal strings, finite
 * @returns the statistic and its p-value, or why there is no test
 * @throws RangeError if a value is not a finite number
 * @source Stephens in D'Agostino and Stephens, Goodness-of-Fit Techniques (1986), Table 4.9, case 3;
 *   NIST/SEMATECH e-Handbook 1.3.5.14
 * @example andersonDarling([148, 154, 158, 160, 161, 162, 166, 170, 182, 195, 236]) // A2 0.9468, p 0.0105
 */
export function andersonDarling(values: readonly (number | string)[]): AndersonDarlingResult {
  const n = values.length;
  if (n < 8) return { kind: "not-testable", reason: "fewer-than-eight-values" };
  const { mean, standardDeviation } = summaryOfValues(values);
  if (standardDeviation === null || standardDeviation.isZero())
    return { kind: "not-testable", reason: "no-spread" };
  const centre = mean.toNumber();
  const spread = standardDeviation.toNumber();
  const standardized = values.map((value) => (Number(value) - centre) / spread).sort((a, b) => a - b);
  let sum = 0;
  standardized.forEach((z, place) => {
    const mirrored = standardized[n - 1 - place] as number;
    sum += (2 * place + 1) * (logNormalCdf(z) + logNormalCdf(-mirrored));
  });
  const statistic = -n - sum / n;
  const adjusted = statistic * (1 + 0.75 / n + 2.25 / (n * n));
  return { kind: "tested", n, statistic, adjusted, pValue: pValueOf(adjusted) };
}

/** ln of the normal distribution function; its far tail by the leading term where the probability leaves the doubles. */
function logNormalCdf(z: number): number {
  const probability = normalCdf(z);
  return probability > 0 ? Math.log(probability) : -(z * z) / 2 - Math.log(-z * Math.sqrt(2 * Math.PI));
}

function pValueOf(a: number): number {
  if (a < 0.2) return 1 - Math.exp(-13.436 + 101.14 * a - 223.73 * a * a);
  if (a < 0.34) return 1 - Math.exp(-8.318 + 42.796 * a - 59.938 * a * a);
  if (a < 0.6) return Math.exp(0.9177 - 4.279 * a - 1.38 * a * a);
  // The last branch turns upwards far out, where the p-value is nil for every purpose.
  return Math.exp(1.2937 - 5.709 * Math.min(a, 10) + 0.0186 * Math.min(a, 10) ** 2);
}
