import { type ExactNumber, Fraction } from "../fraction.ts";
import { requirePositive } from "../require-positive.ts";

/**
 * Error of a demand meter in percent of reading: of the true value, as the reference shows it.
 *
 * @param meterKilowatts what the meter under test indicates, kW
 * @param referenceKilowatts what the standard or reference meter indicates, kW; > 0
 * @returns percent of reading, exact, positive when the meter reads high
 * @throws RangeError if the reference is not positive
 * @source F.A.C. 25-6.052(1)(d) and (3)(b): variation from the true value, percent of reading
 * @example demandErrorOfReading("51", "50").toText() // "2"
 */
export function demandErrorOfReading(meterKilowatts: ExactNumber, referenceKilowatts: ExactNumber): Fraction {
  const reference = Fraction.of(referenceKilowatts);
  requirePositive("referenceKilowatts", reference);
  return Fraction.of(meterKilowatts).minus(reference).times("100").dividedBy(reference);
}
