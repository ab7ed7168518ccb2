import { Fraction } from "../fraction.ts";
import { type Amperes, type PercentRegistration, percentRegistration, type Volts } from "../units.ts";
import { certifiedUncertainty } from "./certified-uncertainty.ts";
import type { CertifiedPoint, DecimalString } from "./test-terms.ts";

/** The load at which the standard was used. */
export interface StandardLoad {
  amperes: Amperes;
  volts: Volts;
  powerFactor: DecimalString;
  powerFactorSense: CertifiedPoint["powerFactorSense"];
  quantity: CertifiedPoint["quantity"];
}

export type StandardRegistration =
  | {
      kind: "certified";
      registration: PercentRegistration;
      /** Percent of reading, at a coverage factor of 2. */
      expandedUncertainty: Fraction;
      /** The certified points it lies between; the same point twice when it stands on one. */
      between: readonly [CertifiedPoint, CertifiedPoint];
    }
  /** The certificate has points at this voltage, power factor and quantity, but not around these amperes. */
  | { kind: "outside-range"; lowestAmperes: DecimalString; highestAmperes: DecimalString }
  /** The certificate has no point at this voltage, power factor and quantity. */
  | { kind: "no-certified-points" };

/**
 * Registration of a standard at a load, from its certificate. Points of the same voltage, power factor (with its
 * sense) and quantity count; between two of them the registration is interpolated linearly in amperes. Nothing is
 * extrapolated, and another voltage is never taken for the wanted one. The uncertainty is that of the neighbour with
 * the larger one, since the certificate says nothing in between.
 *
 * @param certifiedPoints  the certificate's points, in any order; amperes > 0; no two at the same load
 * @param load             amperes > 0, volts > 0
 * @throws RangeError if two points stand at the same amperes, or a coverage factor is not greater than 0
 * @source linear interpolation between certified points: common practice, no source; JCGM 100:2008, 6.3.1 (k = U/u)
 * @example 100.02 % at 2.5 A and 100.06 % at 5 A: 100.04 % at 3.75 A
 */
export function standardRegistrationAt(
  certifiedPoints: readonly CertifiedPoint[],
  load: StandardLoad,
): StandardRegistration {
  const usable = certifiedPoints
    .filter((point) => isAtLoad(point, load))
    .sort((a, b) => Fraction.of(a.amperes).comparedTo(b.amperes));
  const lowest = usable[0];
  const highest = usable.at(-1);
  if (lowest === undefined || highest === undefined) {
    return { kind: "no-certified-points" };
  }
  requireDistinctAmperes(usable);
  const below = usable.findLast((point) => !Fraction.of(point.amperes).isGreaterThan(load.amperes));
  const above = usable.find((point) => !Fraction.of(point.amperes).isLessThan(load.amperes));
  if (below === undefined || above === undefined) {
    return { kind: "outside-range", lowestAmperes: lowest.amperes, highestAmperes: highest.amperes };
  }
  return {
    kind: "certified",
    registration: interpolate(below, above, load.amperes),
    expandedUncertainty: larger(certifiedUncertainty(below), certifiedUncertainty(above)),
    between: [below, above],
  };
}

function isAtLoad(point: CertifiedPoint, load: StandardLoad): boolean {
  return (
    Fraction.of(point.volts).equals(load.volts) &&
    Fraction.of(point.powerFactor).equals(load.powerFactor) &&
    point.powerFactorSense === load.powerFactorSense &&
    point.quantity === load.quantity
  );
}

function requireDistinctAmperes(points: CertifiedPoint[]): void {
  const amperes = new Set(points.map((point) => Fraction.of(point.amperes).toText(40)));
  if (amperes.size !== points.length) {
    throw new RangeError(
      "two certified points stand at the same amperes, voltage, power factor and quantity",
    );
  }
}

function interpolate(below: CertifiedPoint, above: CertifiedPoint, amperes: Amperes): PercentRegistration {
  const start = Fraction.of(below.registrationPercent);
  if (below === above) {
    return percentRegistration(start);
  }
  const share = amperes.minus(below.amperes).dividedBy(Fraction.of(above.amperes).minus(below.amperes));
  return percentRegistration(start.plus(share.times(Fraction.of(above.registrationPercent).minus(start))));
}

function larger(a: Fraction, b: Fraction): Fraction {
  return a.isLessThan(b) ? b : a;
}
