import { type ExactNumber, Fraction } from "../fraction.ts";
import { demandFromPulses } from "./demand-from-pulses.ts";

/** How the intervals follow each other: end to end, or each a subinterval after the one before. */
export type DemandMethod = "block" | "rolling";

export interface DemandSettings {
  method: DemandMethod;
  /** Length of one subinterval in minutes; > 0. */
  subintervalMinutes: ExactNumber;
  /** How many subintervals make one demand interval; a whole number >= 1. */
  subintervalsPerInterval: number;
  /** Wh per pulse at the meter, Kt; > 0. */
  whPerPulse: ExactNumber;
  /** Current ratio times voltage ratio; 1 unless given. */
  transformerFactor?: ExactNumber | undefined;
}

export interface IntervalDemand {
  /** Place of the interval's first subinterval in the list, from 0. */
  firstSubinterval: number;
  kilowatts: Fraction;
}

export interface IntervalDemands {
  intervals: IntervalDemand[];
  /** The largest demand, the first of equals; null when the list is shorter than one interval. */
  maximum: IntervalDemand | null;
  /** Subintervals at the end of the list that fill no whole block; always 0 for rolling intervals. */
  unusedSubintervals: number;
}

/**
 * Demands of a load profile, block or rolling, and the largest of them.
 *
 * @param pulses pulses of each subinterval in the order of time; >= 0
 * @param settings method, length and number of subintervals, the pulse's constant
 * @returns every whole interval's demand in kW, exact, and the maximum
 * @throws RangeError if the number of subintervals is not a whole number >= 1, or as demandFromPulses
 * @source common practice, no source: a rolling interval moves on by one subinterval, a block by its whole length
 * @example
 * intervalDemands(["10", "30", "30", "10"], {
 *   method: "rolling", subintervalMinutes: "15", subintervalsPerInterval: 2, whPerPulse: "1000",
 * }).maximum // { firstSubinterval: 1, kilowatts: 120 }, where the blocks see 80 each
 */
export function intervalDemands(pulses: readonly ExactNumber[], settings: DemandSettings): IntervalDemands {
  const {
    method,
    subintervalMinutes,
    subintervalsPerInterval,
    whPerPulse,
    transformerFactor = "1",
  } = settings;
  if (!Number.isInteger(subintervalsPerInterval) || subintervalsPerInterval < 1) {
    throw new RangeError(`an interval has one subinterval or more, got ${subintervalsPerInterval}`);
  }
  const intervalMinutes = Fraction.of(subintervalMinutes).times(BigInt(subintervalsPerInterval));
  const step = method === "block" ? subintervalsPerInterval : 1;
  const intervals: IntervalDemand[] = [];
  for (let first = 0; first + subintervalsPerInterval <= pulses.length; first += step) {
    const counted = pulses
      .slice(first, first + subintervalsPerInterval)
      .reduce<Fraction>((sum, pulse) => sum.plus(pulse), Fraction.of(0n));
    intervals.push({
      firstSubinterval: first,
      kilowatts: demandFromPulses(counted, whPerPulse, intervalMinutes, transformerFactor),
    });
  }
  const maximum = intervals.reduce<IntervalDemand | null>(
    (largest, each) => (largest === null || each.kilowatts.isGreaterThan(largest.kilowatts) ? each : largest),
    null,
  );
  return {
    intervals,
    maximum,
    unusedSubintervals: method === "block" ? pulses.length % subintervalsPerInterval : 0,
  };
}
