import { type DoubleCharacteristicPlan, doubleAcceptance } from "./double-acceptance.ts";
import type { RectifyingInspection } from "./rectifying-inspection.ts";

/**
 * Average outgoing quality and average total inspection of a double plan under rectifying inspection.
 *
 * @param plan sizes and numbers
 * @param p incoming fraction nonconforming of the process, 0 <= p <= 1
 * @param lotSize units a lot, at least both samples
 * @returns Pa, AOQ with replacement and ATI
 * @throws RangeError if a number is outside its range
 * @source Schilling, Acceptance Sampling in Quality Control; the printed examples of the SAS/QC function documentation
 * @example doubleRectifyingInspection({ n1: 13, ac1: 0, re1: 2, n2: 13, ac2: 1 }, 0.18, 120).averageOutgoingQuality // 0.0144743043
 */
export function doubleRectifyingInspection(
  plan: DoubleCharacteristicPlan,
  p: number,
  lotSize: number,
): RectifyingInspection {
  const { n1, n2 } = plan;
  if (n1 + n2 > lotSize) throw new RangeError("the samples cannot be larger than their lot");
  const { probability, acceptedAtFirst } = doubleAcceptance(plan, p);
  const acceptedAtSecond = probability - acceptedAtFirst;
  const averageTotalInspection =
    n1 * acceptedAtFirst + (n1 + n2) * acceptedAtSecond + lotSize * (1 - probability);
  return {
    probability,
    averageOutgoingQuality: p * (1 - averageTotalInspection / lotSize),
    averageTotalInspection,
  };
}
