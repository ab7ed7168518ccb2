import type { Fraction } from "../fraction.ts";
import { requirePositive } from "../require-positive.ts";
import { type Amperes, type Volts, type WattHoursPerCount, wattHoursPerCount } from "../units.ts";

/**
 * Watthour constant that a disk meter's rating implies: Kh = c V TA / 1000 for single-phase, / 500 for polyphase
 * meters. Solid-state meters keep the relation for their nominal design voltage.
 *
 * @param rating.volts            V, rated or nominal design voltage; > 0
 * @param rating.testAmperes      TA; > 0
 * @param rating.electricalCount  c, elements as the nameplate relation counts them (3 for 2 1/2-element meters); > 0
 * @param rating.polyphase        is it a polyphase meter?
 * @returns Wh per revolution, exact
 * @throws RangeError if anything is not greater than 0
 * @source freezingblue.com card set 310317 (training cards): 1,000 turns an hour single-phase, 500 polyphase; the count 3
 *   for 2 1/2-element meters is common practice, no source
 * @example 240 V, 30 A, one element, single-phase // 7.2
 */
export function watthourConstantFromRating(rating: {
  volts: Volts;
  testAmperes: Amperes;
  electricalCount: Fraction;
  polyphase: boolean;
}): WattHoursPerCount {
  requirePositive("volts", rating.volts);
  requirePositive("test amperes", rating.testAmperes);
  requirePositive("electrical count", rating.electricalCount);
  const turnsAnHour = rating.polyphase ? "500" : "1000";
  return wattHoursPerCount(
    rating.electricalCount.times(rating.volts).times(rating.testAmperes).dividedBy(turnsAnHour),
  );
}
