/**
 * A decimal as a whole number of its last kept decimal, rounded half away from zero. It reads digits alone, so that
 * nothing passes through a binary double: the result is exact.
 *
 * @param decimal  written out, "101.25", with or without a sign
 * @param places   decimals to keep, a whole number from 0 to 6
 * @returns the rounded value times ten to the power of places; 0 has no sign
 * @throws RangeError if the text is no decimal, or too large for a whole number to be exact
 * @source half away from zero: common practice, no source
 * @example roundedToWhole("102.05", 1) // 1021
 */
export function roundedToWhole(decimal: string, places: number): number {
  const match = /^([+-]?)(\d{1,9})(?:\.(\d*))?$/.exec(decimal);
  if (match === null) throw new RangeError(`not a decimal that can be counted: ${JSON.stringify(decimal)}`);
  const decimals = match[3] ?? "";
  const kept = Number((match[2] ?? "") + decimals.slice(0, places).padEnd(places, "0"));
  const rounded = decimals.charCodeAt(places) >= 53 ? kept + 1 : kept;
  return match[1] === "-" && rounded !== 0 ? -rounded : rounded;
}
