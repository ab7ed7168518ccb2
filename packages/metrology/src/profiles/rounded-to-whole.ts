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
  const first = decimal.charCodeAt(0);
  const isSigned = first === minus || first === plus;
  let point = isSigned ? 1 : 0;
  let kept = 0;
  for (; isDigit(decimal.charCodeAt(point)); point++) kept = kept * 10 + decimal.charCodeAt(point) - zero;
  const wholeDigits = point - (isSigned ? 1 : 0);
  let isRoundedUp = false;
  let read = point;
  if (decimal.charCodeAt(point) === dot) {
    for (read++; isDigit(decimal.charCodeAt(read)); read++) {
      const place = read - point;
      if (place <= places) kept = kept * 10 + decimal.charCodeAt(read) - zero;
      else if (place === places + 1) isRoundedUp = decimal.charCodeAt(read) - zero >= 5;
    }
  }
  if (wholeDigits < 1 || wholeDigits > 9 || read !== decimal.length) {
    throw new RangeError(`not a decimal that can be counted: ${JSON.stringify(decimal)}`);
  }
  for (let place = Math.max(read - point - 1, 0); place < places; place++) kept *= 10;
  const rounded = isRoundedUp ? kept + 1 : kept;
  return first === minus && rounded !== 0 ? -rounded : rounded;
}

const zero = 48;
const plus = 43;
const minus = 45;
const dot = 46;

/** Whether a code unit is a digit; one behind the end of the text, NaN, is none. */
function isDigit(code: number): boolean {
  return code >= zero && code <= 57;
}
