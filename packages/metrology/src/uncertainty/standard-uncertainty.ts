import type { ComponentDistribution, UncertaintyComponent } from "./uncertainty-component.ts";

const divisorByDistribution: Record<ComponentDistribution, number> = {
  standard: 1,
  normal: 1,
  rectangular: Math.sqrt(3),
  triangular: Math.sqrt(6),
  "u-shaped": Math.SQRT2,
};

/**
 * Standard uncertainty of one component: its value over the divisor of its distribution.
 *
 * A normal component without a divisor is taken as a standard uncertainty, which can only make the result larger
 * than it would be with the coverage factor that was left out.
 *
 * @param component value >= 0 in the unit of the input quantity; divisor, if given, > 0
 * @returns standard uncertainty in the same unit
 * @throws RangeError if the value is negative or not finite, or the divisor is not positive and finite
 * @source JCGM 100:2008, 4.3.3 to 4.3.9 and H.1.3.4 (u-shaped)
 * @example standardUncertainty({ label: "certificate", value: 0.02, distribution: "normal", divisor: 2 }) // 0.01
 */
export function standardUncertainty(component: UncertaintyComponent): number {
  const { label, value, distribution, divisor = divisorByDistribution[distribution] } = component;
  if (!(value >= 0) || !Number.isFinite(value)) {
    throw new RangeError(`${label}: the value must be finite and not negative, got ${value}`);
  }
  if (!(divisor > 0) || !Number.isFinite(divisor)) {
    throw new RangeError(`${label}: the divisor must be positive, got ${divisor}`);
  }
  return value / divisor;
}
