/** Seals put on and taken off by one event. */
export interface SealChanges {
  readonly sealsOn: readonly string[];
  readonly sealsOff: readonly string[];
}

/**
 * The seals that a meter carries, out of what was put on and taken off. One that is taken off and was never put on
 * record as on changes nothing: seals from before the book was opened are known to nobody.
 *
 * @param changes  in order of time
 * @returns numbers of the seals on the meter, in the order in which they were put on
 * @source common practice, no source
 * @example sealsOn([{ sealsOn: ["A1", "A2"], sealsOff: [] }, { sealsOn: [], sealsOff: ["A1"] }]) // ["A2"]
 */
export function sealsOn(changes: readonly SealChanges[]): string[] {
  const on = new Set<string>();
  for (const change of changes) {
    for (const number of change.sealsOff) on.delete(number);
    for (const number of change.sealsOn) on.add(number);
  }
  return [...on];
}
