import { type ExactNumber, Fraction } from "../fraction.ts";
import { requirePositive } from "../require-positive.ts";

/**
 * Average demand over an interval from the pulses counted in it: energy times 60 over the interval's minutes.
 *
 * @param pulses pulses counted in the interval; >= 0
 * @param whPerPulse Wh per pulse at the meter, Kt; > 0
 * @param intervalMinutes length of the interval in minutes; > 0
 * @param transformerFactor current ratio times voltage ratio of the instrument transformers; > 0, 1 without them
 * @returns demand in kW, exact
 * @throws RangeError if the pulses are negative or another argument is not positive
 * @source common practice, no source: demand is the energy of an interval over its length
 * @example demandFromPulses("600", "1.2", "15").toText() // "2.88"
 */
export function demandFromPulses(
  pulses: ExactNumber,
  whPerPulse: ExactNumber,
  intervalMinutes: ExactNumber,
  transformerFactor: ExactNumber = "1",
): Fraction {
  const count = Fraction.of(pulses);
  const constant = Fraction.of(whPerPulse);
  const minutes = Fraction.of(intervalMinutes);
  const factor = Fraction.of(transformerFactor);
  if (count.isLessThan("0")) throw new RangeError(`pulses must not be negative, got ${count.toText()}`);
  requirePositive("whPerPulse", constant);
  requirePositive("intervalMinutes", minutes);
  requirePositive("transformerFactor", factor);
  return count.times(constant).times(factor).times("60").dividedBy(minutes).dividedBy("1000");
}
