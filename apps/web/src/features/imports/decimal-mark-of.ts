/**
 * The decimal mark that these cells are written with, where they leave no doubt.
 *
 * @returns "" where no cell has a fraction, or where both marks occur: then a person is asked
 */
export function decimalMarkOf(cells: readonly string[]): "." | "," | "" {
  const marks = new Set(cells.map((cell) => /^[+-]?\d+([.,])\d+$/.exec(cell.trim())?.[1]));
  if (marks.has(".") === marks.has(",")) return "";
  return marks.has(",") ? "," : ".";
}
