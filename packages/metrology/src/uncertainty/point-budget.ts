import type { UncertaintyComponent } from "./uncertainty-component.ts";

/** What is known of one test point, all in percent registration unless told otherwise. */
export interface PointKnowledge {
  /** The standard's certificate at this point. */
  certificate: {
    /** Expanded uncertainty, percent of reading; >= 0. */
    expandedUncertaintyPercent: number;
    /** Coverage factor k that goes with it; > 0. */
    coverageFactor: number;
    /** Degrees of freedom, if the certificate states them. */
    degreesOfFreedom?: number | null | undefined;
  };
  /** What the standard may have drifted since its calibration: a bound, taken as rectangular. */
  drift?: { percentPerYear: number; yearsSinceCalibration: number } | undefined;
  /** The counter that cannot see part of a count: plus or minus this many counts in the counts of the gate. */
  countResolution?: { counts: number; resolutionCounts?: number | undefined } | undefined;
  /** Scatter of repeated runs at this point: their sample standard deviation, and over how many the mean goes. */
  repeatability?: { standardDeviationPercent: number; runs: number } | undefined;
  /** How far volts, amperes, power factor or temperature may be off, and what that does to the registration. */
  setPoint?: readonly { label: string; halfWidth: number; sensitivityPercentPerUnit: number }[] | undefined;
}

/**
 * Uncertainty budget of one test point of a meter, in percent registration.
 *
 * @param knowledge the standard's certificate, and as far as known its drift, the counts' resolution, the scatter of
 *   the runs and the influence of the set point; every amount finite and not negative
 * @returns components ready for expandUncertainty: certificate U/k (normal), drift and resolution and set point
 *   (rectangular half-widths), repeatability s / sqrt(n) with n - 1 degrees of freedom
 * @throws RangeError if a count or the number of runs is not positive, or repeatability is given for a single run
 * @source JCGM 100:2008, 4.2.3, 4.3.3, 4.3.7, F.2.2.1 (resolution); trade practice for which parts are listed
 * @example
 * pointBudget({
 *   certificate: { expandedUncertaintyPercent: 0.02, coverageFactor: 2 },
 *   countResolution: { counts: 1000 },
 * }) // certificate 0.02 normal over 2; resolution 0.1 rectangular
 */
export function pointBudget(knowledge: PointKnowledge): UncertaintyComponent[] {
  const { certificate, drift, countResolution, repeatability, setPoint = [] } = knowledge;
  const components: UncertaintyComponent[] = [
    {
      label: "standard's certificate",
      value: certificate.expandedUncertaintyPercent,
      distribution: "normal",
      divisor: certificate.coverageFactor,
      degreesOfFreedom: certificate.degreesOfFreedom ?? null,
    },
  ];
  if (drift !== undefined) {
    components.push({
      label: "drift of the standard since calibration",
      value: drift.percentPerYear * drift.yearsSinceCalibration,
      distribution: "rectangular",
    });
  }
  if (countResolution !== undefined) {
    const { counts, resolutionCounts = 1 } = countResolution;
    if (!(counts > 0)) throw new RangeError(`counts must be positive, got ${counts}`);
    components.push({
      label: "resolution of the count",
      value: (100 * resolutionCounts) / counts,
      distribution: "rectangular",
    });
  }
  if (repeatability !== undefined) {
    const { standardDeviationPercent, runs } = repeatability;
    if (!Number.isInteger(runs) || runs < 2) {
      throw new RangeError(`repeatability is known from two runs or more, got ${runs}`);
    }
    components.push({
      label: "repeatability of the runs",
      value: standardDeviationPercent,
      distribution: "standard",
      divisor: Math.sqrt(runs),
      degreesOfFreedom: runs - 1,
    });
  }
  for (const { label, halfWidth, sensitivityPercentPerUnit } of setPoint) {
    components.push({
      label: `set point: ${label}`,
      value: halfWidth,
      distribution: "rectangular",
      sensitivity: sensitivityPercentPerUnit,
    });
  }
  return components;
}
