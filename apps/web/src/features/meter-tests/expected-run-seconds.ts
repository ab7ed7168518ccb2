import { constantsAtPoint } from "@sealbook/metrology/accuracy/constants-at-point";
import { expectedTime } from "@sealbook/metrology/accuracy/expected-time";
import type { Nameplate } from "@sealbook/metrology/accuracy/pass-input";
import type { PlanPoint } from "@sealbook/metrology/accuracy/test-terms";
import { amperes, counts, factor, volts } from "@sealbook/metrology/units";

/**
 * How long one run of a point takes with a meter that registers truly, at the design voltage.
 *
 * @returns whole seconds as text, or null where the constants of the meter do not say
 */
export function expectedRunSeconds(point: PlanPoint, nameplate: Nameplate): string | null {
  const { constants } = constantsAtPoint(nameplate, point);
  if (constants === null) return null;
  try {
    const time = expectedTime(counts(point.counts), constants.whPerCount, {
      volts: volts(nameplate.designVolts),
      amperes: amperes(amperes(nameplate.testAmperes).times(point.loadPercent).dividedBy("100")),
      powerFactor: factor(point.powerFactor),
      circuitFactor: constants.circuitFactor,
      quantity: point.quantity,
    });
    return time.toFixed(0);
  } catch (error) {
    // Reactive power at power factor 1 has no time; the plan's author is told, not the tester.
    if (error instanceof RangeError) return null;
    throw error;
  }
}
