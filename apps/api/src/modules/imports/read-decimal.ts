const longest = 40;

/**
 * A number of the file as plain decimal text: the decimal mark made a point, nothing else changed or guessed. A mark
 * that separates thousands is refused, as it may as well be a decimal mark.
 *
 * @param decimalMark of the file, as the mapping says
 * @returns null for what is no such number, or longer than a reading can be
 * @example readDecimal("99,87", ",") // "99.87"
 * @example readDecimal("1,234.5", ".") // null
 */
export function readDecimal(text: string, decimalMark: "." | ","): string | null {
  const trimmed = text.trim();
  if (trimmed.length > longest) return null;
  const match = /^([+-]?)(\d{0,15})(?:([.,])(\d{1,15}))?$/.exec(trimmed);
  if (match === null) return null;
  const [, sign, whole = "", mark, fraction] = match;
  if (mark !== undefined && mark !== decimalMark) return null;
  if (whole === "" && fraction === undefined) return null;
  return `${sign === "-" ? "-" : ""}${whole === "" ? "0" : whole}${fraction === undefined ? "" : `.${fraction}`}`;
}
