import type { RuleProfile } from "./profile-schema.ts";
import { roundedToWhole } from "./rounded-to-whole.ts";

type ReportBands = NonNullable<RuleProfile["reportBands"]>;

/**
 * Finds the band of a yearly report that a registration is counted in. The registration is rounded first, half away from
 * zero, so that bands written with one decimal leave no holes between them. It works on the digits as written, exactly,
 * and fast enough for every test of a year.
 *
 * @param bands  the profile's bands
 * @returns a function that takes percent registration written out, unrounded, and gives the place of its band, from 0
 * @throws RangeError if a bound has more decimals than the bands are rounded to; and, from the function, if no band
 *   takes the rounded value or the text is no decimal
 * @source the bands' own citation
 */
export function bandFinder({ places, bands }: ReportBands): (registrationPercent: string) => number {
  const bounds = bands.map(({ label, minPercent, maxPercent }) => {
    for (const bound of [minPercent, maxPercent]) {
      if (bound !== null && (bound.split(".")[1] ?? "").length > places) {
        throw new RangeError(`band ${label} has a bound with more than ${places} decimals: ${bound}`);
      }
    }
    return {
      min: minPercent === null ? Number.NEGATIVE_INFINITY : roundedToWhole(minPercent, places),
      max: maxPercent === null ? Number.POSITIVE_INFINITY : roundedToWhole(maxPercent, places),
    };
  });
  return (registrationPercent) => {
    const rounded = roundedToWhole(registrationPercent, places);
    for (const [place, { min, max }] of bounds.entries()) {
      if (rounded >= min && rounded <= max) return place;
    }
    throw new RangeError(`no band takes ${registrationPercent} %`);
  };
}
