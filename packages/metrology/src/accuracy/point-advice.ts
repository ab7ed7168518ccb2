import { Fraction } from "../fraction.ts";
import type { Counts, EnergyPerCount, EnergyQuantity, PercentError, Seconds } from "../units.ts";
import { percentError } from "../units.ts";
import type { CircuitLoad } from "./circuit-power.ts";
import { countResolution } from "./count-resolution.ts";
import { countsForResolution } from "./counts-for-resolution.ts";
import { expectedTime } from "./expected-time.ts";
import type { RegistrationLimits } from "./test-terms.ts";

export interface PointAdvice {
  /** Of one run of a meter that registers truly. */
  time: Seconds;
  /** Percent that one count of the reading is worth. */
  resolution: PercentError;
  /** Half the width of the limits over ten: the largest resolution that lets a count decide nothing. */
  tenthOfTolerance: PercentError | null;
  /** Smallest counts of the reading that meet it; null without limits or with limits of no width. */
  leastReadingCounts: Counts | null;
  /** A sentence when one count is worth more than a tenth of the tolerance. */
  warning: string | null;
}

/**
 * Advice on one point of a plan: how long a run takes, what one count is worth, and a warning where that exceeds a
 * tenth of the tolerance.
 *
 * @param run.counts         n of the meter in one run; > 0
 * @param run.whPerCount     K of the meter; > 0
 * @param run.load           what the meter sees
 * @param run.readingCounts  counts read over the gate without parts of a count: pulses of the standard when the meter
 *   opens and closes the gate, or pulses of the meter when the standard does; > 0
 * @param limits             limits of the point in percent registration; null when it has none
 * @source common practice, no source (a tenth of the tolerance)
 */
export function pointAdvice<Unit extends EnergyQuantity>(
  run: {
    counts: Counts;
    whPerCount: EnergyPerCount<Unit>;
    load: CircuitLoad & { quantity: NoInfer<Unit> };
    readingCounts: Counts;
  },
  limits: Pick<RegistrationLimits, "minPercent" | "maxPercent"> | null,
): PointAdvice {
  const time = expectedTime(run.counts, run.whPerCount, run.load);
  const resolution = countResolution(run.readingCounts);
  if (limits === null) {
    return { time, resolution, tenthOfTolerance: null, leastReadingCounts: null, warning: null };
  }
  const width = Fraction.of(limits.maxPercent).minus(limits.minPercent);
  const tenthOfTolerance = percentError(width.dividedBy("20"));
  const warning = resolution.isGreaterThan(tenthOfTolerance)
    ? `One count is worth ${resolution.toText(3)} %, more than a tenth of the tolerance (${tenthOfTolerance.toText(3)} %).`
    : null;
  const leastReadingCounts = width.isPositive() ? countsForResolution(tenthOfTolerance) : null;
  return { time, resolution, tenthOfTolerance, leastReadingCounts, warning };
}
