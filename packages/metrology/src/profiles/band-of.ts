import type { PercentRegistration } from "../units.ts";
import { bandFinder } from "./band-finder.ts";
import type { RuleProfile } from "./profile-schema.ts";

type ReportBands = NonNullable<RuleProfile["reportBands"]>;

/**
 * Band of a yearly report in which a registration is counted. The registration is rounded first, half away from zero,
 * so that bands written with one decimal leave no holes between them.
 *
 * @param registration  percent registration, unrounded
 * @param bands         the profile's bands
 * @returns the band's label
 * @throws RangeError if no band takes the rounded value
 * @source the bands' own citation
 * @example 98.05 with one decimal is 98.1 // "98.1-99.0"
 */
export function bandOf(registration: PercentRegistration, bands: ReportBands): string {
  const band = bands.bands[bandFinder(bands)(registration.toFixed(bands.places))];
  if (band === undefined) throw new Error("a band's place lies within the bands");
  return band.label;
}
