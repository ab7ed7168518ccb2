import { summaryOfValues } from "../../statistics/summary-of-values.ts";
import { requireWhole } from "../require-whole.ts";
import { percentBeyondLimit } from "../variables/percent-beyond-limit.ts";

/** A sample as its values (JSON numbers or decimal strings), or as what was reckoned from them. */
export type SampleFigures =
  | { values: readonly (number | string)[] }
  | {
      /** Sample mean, finite, in the unit of the limits. */
      mean: number;
      /** Sample standard deviation (divisor n - 1), >= 0. */
      s: number;
      /** Sample size, whole. */
      n: number;
    };

/** Inclusive limits in the unit of the values; one may be absent, not both. */
export interface SpecificationLimits {
  lower?: number | undefined;
  upper?: number | undefined;
}

/** Estimated percent nonconforming of a lot from a sample by variables. */
export interface PercentEstimate {
  kind: "estimate";
  n: number;
  mean: number;
  s: number;
  /** The limits judged against; null where there is none. */
  lower: number | null;
  upper: number | null;
  /** (mean - lower) / s; null without a lower limit or without spread. */
  qLower: number | null;
  /** (upper - mean) / s; null without an upper limit or without spread. */
  qUpper: number | null;
  /** Percent beyond each limit, and together; 0 for a limit that is absent. */
  pLower: number;
  pUpper: number;
  p: number;
  notes: string[];
}

/** Why nothing can be estimated. */
export interface NoEstimate {
  kind: "no-estimate";
  reason: "too-few-values";
  sentence: string;
}

/**
 * Estimated percent nonconforming from a sample by variables: standard deviation method, variability unknown.
 *
 * Nothing is rounded on the way; the standards look Q up at two decimals, so their printed examples differ in the third
 * digit. A sample without spread says nothing of the lot's: 0 percent when its common value lies within the limits (the
 * limits themselves are within), 100 beyond, and a note.
 *
 * @param sample the values (n >= 3), or their mean, s and n
 * @param limits lower, upper or both, inclusive
 * @returns quality indices and percents, or that the values are too few
 * @throws RangeError if a number is not finite, s is negative, no limit is given or the lower lies above the upper
 * @source MIL-STD-414 (1957), B-6 to B-9; ANSI/ASQ Z1.9, Part III of Section B
 * @example
 * estimatePercentNonconforming({ values: [197, 188, 184, 205, 201] }, { lower: 180, upper: 209 })
 * // mean 195, s 8.8034, pUpper 2.1823, pLower 0.6169 (MIL-STD-414, example B-3, prints 2.19 and 0.66 from rounded Q)
 */
export function estimatePercentNonconforming(
  sample: SampleFigures,
  limits: SpecificationLimits,
): PercentEstimate | NoEstimate {
  const { lower, upper } = limits;
  if (lower === undefined && upper === undefined) throw new RangeError("an estimate needs a limit");
  if ([lower, upper].some((limit) => limit !== undefined && !Number.isFinite(limit))) {
    throw new RangeError("a limit must be finite");
  }
  if (lower !== undefined && upper !== undefined && lower > upper) {
    throw new RangeError("the lower limit lies above the upper limit");
  }
  const count = "values" in sample ? sample.values.length : sample.n;
  requireWhole(count, 0, "the sample size");
  if (count < 3) {
    return {
      kind: "no-estimate",
      reason: "too-few-values",
      sentence: `${count === 1 ? "One value is" : `${count} values are`} too few: the estimate needs three or more.`,
    };
  }
  const { mean, s } = figuresOf(sample);
  if (!Number.isFinite(mean) || !(s >= 0 && Number.isFinite(s))) {
    throw new RangeError("the mean must be finite and s finite and not negative");
  }
  const notes: string[] = [];
  if (s === 0) {
    notes.push(
      "The sample has no spread, so it says nothing of the lot's: all values count as the same value, within the limits or beyond.",
    );
  }
  const marginLower = lower === undefined ? null : mean - lower;
  const marginUpper = upper === undefined ? null : upper - mean;
  const pLower = marginLower === null ? 0 : percentAt(marginLower, s, count);
  const pUpper = marginUpper === null ? 0 : percentAt(marginUpper, s, count);
  return {
    kind: "estimate",
    n: count,
    mean,
    s,
    lower: lower ?? null,
    upper: upper ?? null,
    qLower: marginLower === null || s === 0 ? null : marginLower / s,
    qUpper: marginUpper === null || s === 0 ? null : marginUpper / s,
    pLower,
    pUpper,
    p: pLower + pUpper,
    notes,
  };
}

function figuresOf(sample: SampleFigures): { mean: number; s: number } {
  if (!("values" in sample)) return { mean: sample.mean, s: sample.s };
  const { mean, standardDeviation } = summaryOfValues(sample.values);
  return { mean: mean.toNumber(), s: standardDeviation === null ? 0 : standardDeviation.toNumber() };
}

function percentAt(margin: number, s: number, n: number): number {
  if (s === 0) return margin >= 0 ? 0 : 100;
  return percentBeyondLimit(margin / s, n);
}
