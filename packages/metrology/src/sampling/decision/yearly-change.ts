/** What a sample of a group said in one year. */
export interface YearOfGroup {
  year: number;
  /** Mean registration in percent; null where none was measured. */
  mean: number | null;
  /** Sample standard deviation in percent; null for fewer than two readings. */
  s: number | null;
  percentNonconforming: number;
}

/** Change a year. */
export interface YearlyChange {
  sinceYear: number;
  mean: number | null;
  s: number | null;
  percentNonconforming: number;
}

/**
 * Change of a group between two years: the difference divided by the years between.
 *
 * @param before the earlier year
 * @param after the later year
 * @returns change a year of mean, s and percent nonconforming; null where one of the two has none
 * @throws RangeError if the years are not in this order
 * @source Wis. Admin. Code PSC 113.0919: the summary gives the yearly change of mean, s and percent nonconforming
 * @example yearlyChange({ year: 2023, mean: 100.2, s: 0.4, percentNonconforming: 1 },
 *   { year: 2025, mean: 100.0, s: 0.5, percentNonconforming: 2 }).mean // -0.1
 */
export function yearlyChange(before: YearOfGroup, after: YearOfGroup): YearlyChange {
  const years = after.year - before.year;
  if (!(years > 0)) throw new RangeError(`${after.year} does not lie after ${before.year}`);
  const change = (from: number | null, to: number | null) =>
    from === null || to === null ? null : (to - from) / years;
  return {
    sinceYear: before.year,
    mean: change(before.mean, after.mean),
    s: change(before.s, after.s),
    percentNonconforming: (after.percentNonconforming - before.percentNonconforming) / years,
  };
}
