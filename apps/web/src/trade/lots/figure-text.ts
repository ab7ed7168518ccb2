/**
 * A computed figure as a decision sheet reads: at most six decimals, no zeros that say nothing.
 *
 * @param value a finite number or an infinite one; null stands for what could not be computed
 * @returns the text
 */
export function figureText(value: number | null): string {
  if (value === null) return "–";
  if (!Number.isFinite(value)) return value > 0 ? "without bound" : "below all bounds";
  return String(Number(value.toFixed(6)));
}
