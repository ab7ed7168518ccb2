import { normalPdf } from "../statistics/normal-pdf.ts";
import type { IntervalLimits } from "./checked-limits.ts";
import { requireSpread } from "./require-spread.ts";
import { type GlobalRisk, riskOverPrior } from "./risk-over-prior.ts";

/** Beyond this many standard deviations a normal density is below 10^-32 of its peak. */
const reach = 12;

/**
 * Global risk of an acceptance rule for a normal population and a normal measurement error: what the rule does over
 * all items that come along, before any of them is measured.
 *
 * @param population mean and standard deviation (> 0) of the items' true values
 * @param standardUncertainty u of one measurement, > 0, in the same unit
 * @param tolerance limits that the true value must keep; at least one
 * @param acceptance limits that the measured value must keep; the tolerance limits unless given. One may be left
 *   out where the tolerance has none.
 * @returns probabilities of false accept and false reject, with what they are parts of
 * @throws RangeError if a standard deviation is not positive and finite, or limits are missing or cross
 * @source JCGM 106:2012, 9.4 and 9.5, equations (17) and (18); by quadrature
 * @example
 * globalRisk({ mean: 9.5, standardDeviation: 0.3 }, 0.1, { lower: 9, upper: 10 })
 * // false accept 0.01894, false reject 0.03721
 */
export function globalRisk(
  population: { mean: number; standardDeviation: number },
  standardUncertainty: number,
  tolerance: IntervalLimits,
  acceptance: IntervalLimits = tolerance,
): GlobalRisk {
  const { mean, standardDeviation } = population;
  requireSpread("the population's standard deviation", standardDeviation);
  if (!Number.isFinite(mean)) throw new RangeError("the population's mean must be finite");
  const breaks = Array.from({ length: 2 * reach + 1 }, (_, i) => mean + (i - reach) * standardDeviation);
  return riskOverPrior(
    {
      density: (x) => normalPdf((x - mean) / standardDeviation) / standardDeviation,
      from: mean - reach * standardDeviation,
      to: mean + reach * standardDeviation,
      breaks,
    },
    standardUncertainty,
    tolerance,
    acceptance,
  );
}
