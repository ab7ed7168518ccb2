import { type ExactNumber, Fraction } from "../fraction.ts";

/** A mechanical or lagged demand meter compared with a reference at two points of its scale. */
export interface DemandComparison {
  /** What the meter under test read when the reference stood at (about) 40 % of the meter's full scale, kW. */
  meterAt40: ExactNumber;
  /** Error of the meter there, kW: meter less reference. */
  errorAt40: ExactNumber;
  /** The same at (about) 80 % of full scale. */
  meterAt80: ExactNumber;
  errorAt80: ExactNumber;
  /** The customer's average billing demand over the refund period, as the meter read it, kW. */
  averageBillingDemand: ExactNumber;
}

export interface DemandCorrection {
  kind: "correction";
  /** Error of the meter at the average billing demand, kW. */
  errorAtAverage: Fraction;
  /** What a reference meter would have read there, kW: average billing demand less the error. */
  referenceAtAverage: Fraction;
  /** P, the error as a fraction of that reference reading (0.02 is 2 %). */
  errorRatio: Fraction;
  /** C.F. = 1 / (1 + P). */
  correctionFactor: Fraction;
  /** Corrected billing demand of each month in kW, in the order given. */
  correctedDemands: Fraction[];
}

export type DemandCorrectionResult =
  | DemandCorrection
  /** The two points coincide, so no line goes through them; or the reference would have read nothing. */
  | { kind: "not-defined"; reason: string };

/**
 * Corrected billing demands of a mechanical or lagged demand meter: the error is interpolated to the customer's
 * average billing demand and every month of the period is corrected by the same factor.
 *
 * Outside the two points the line is followed as the formula says.
 *
 * @param comparison readings and errors in kW at about 40 % and 80 % of full scale, and the average billing demand
 * @param billedDemands original billing demand of each month, kW
 * @returns error, correction factor and corrected demands in kW, exact
 * @source F.A.C. 25-6.103(1)
 * @example
 * correctBillingDemand(
 *   { meterAt40: "41", errorAt40: "1", meterAt80: "82.4", errorAt80: "2.4", averageBillingDemand: "60" }, ["60"],
 * ) // error 1.6425 kW, P 0.028146, C.F. 0.972625
 */
export function correctBillingDemand(
  comparison: DemandComparison,
  billedDemands: readonly ExactNumber[],
): DemandCorrectionResult {
  const meterAt40 = Fraction.of(comparison.meterAt40);
  const errorAt40 = Fraction.of(comparison.errorAt40);
  const average = Fraction.of(comparison.averageBillingDemand);
  const span = Fraction.of(comparison.meterAt80).minus(meterAt40);
  if (!span.isPositive()) {
    return {
      kind: "not-defined",
      reason: "The meter's reading at 80 % of full scale must lie above its reading at 40 %.",
    };
  }
  const errorAtAverage = Fraction.of(comparison.errorAt80)
    .minus(errorAt40)
    .dividedBy(span)
    .times(average.minus(meterAt40))
    .plus(errorAt40);
  const referenceAtAverage = average.minus(errorAtAverage);
  // 1 + P is average over reference, so both must be positive for a factor that means anything.
  if (!referenceAtAverage.isPositive() || !average.isPositive()) {
    return {
      kind: "not-defined",
      reason: "The average billing demand and the reference reading that belongs to it must be positive.",
    };
  }
  const errorRatio = errorAtAverage.dividedBy(referenceAtAverage);
  const correctionFactor = Fraction.of(1n).dividedBy(errorRatio.plus(1n));
  return {
    kind: "correction",
    errorAtAverage,
    referenceAtAverage,
    errorRatio,
    correctionFactor,
    correctedDemands: billedDemands.map((billed) => correctionFactor.times(billed)),
  };
}
