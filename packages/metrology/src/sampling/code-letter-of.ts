/**
 * Code letter of a lot in a standard's table of code letters.
 *
 * @param table rows in order of lot size: the largest lot of the row (null: no upper end) and the letters of all levels
 * @param lotSize number of units in the lot, a whole number that the table covers
 * @param levelIndex place of the inspection level among the letters, from 0
 * @returns the code letter
 * @throws RangeError if the table has no such row or level
 * @source MIL-STD-105E Table I; MIL-STD-414 Table A-2; ANSI/ASQ Z1.9 Table A-2
 * @example codeLetterOf([[8, "A A"], [null, "B C"]], 20, 1) // "C"
 */
export function codeLetterOf(
  table: readonly (readonly [lotMax: number | null, letters: string])[],
  lotSize: number,
  levelIndex: number,
): string {
  const row = table.find(([lotMax]) => lotMax === null || lotSize <= lotMax);
  const letter = row?.[1].split(" ")[levelIndex];
  if (letter === undefined)
    throw new RangeError(`no code letter for lot size ${lotSize}, level ${levelIndex}`);
  return letter;
}
