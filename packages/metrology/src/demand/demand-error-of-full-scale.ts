import { type ExactNumber, Fraction } from "../fraction.ts";
import { requirePositive } from "../require-positive.ts";

/**
 * Error of a demand meter in percent of its full scale, as rules for mechanical and lagged demand judge it.
 *
 * @param meterKilowatts what the meter under test indicates, kW
 * @param referenceKilowatts what the standard or reference meter indicates, kW
 * @param fullScaleKilowatts full scale of the meter under test, kW; > 0
 * @returns percent of full scale, exact, positive when the meter reads high
 * @throws RangeError if the full scale is not positive
 * @source F.A.C. 25-6.052(3)(a): error in terms of full-scale value
 * @example demandErrorOfFullScale("51", "50", "100").toText() // "1"
 */
export function demandErrorOfFullScale(
  meterKilowatts: ExactNumber,
  referenceKilowatts: ExactNumber,
  fullScaleKilowatts: ExactNumber,
): Fraction {
  const fullScale = Fraction.of(fullScaleKilowatts);
  requirePositive("fullScaleKilowatts", fullScale);
  return Fraction.of(meterKilowatts).minus(referenceKilowatts).times("100").dividedBy(fullScale);
}
