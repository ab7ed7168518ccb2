/**
 * A yearly change with its sign; a change of nothing says so without one.
 *
 * @param change difference a year; null where there is no year before
 * @param places decimals
 * @returns such as "+0.012", "−0.003", "0.000" or "–"
 */
export function changeText(change: number | null, places: number): string {
  if (change === null) return "–";
  const size = Math.abs(change).toFixed(places);
  if (Number(size) === 0) return size;
  return change > 0 ? `+${size}` : `−${size}`;
}
