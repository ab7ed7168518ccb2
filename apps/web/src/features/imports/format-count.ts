const format = new Intl.NumberFormat("en-US");

/** A count with its thousands set apart: "9,963". */
export function formatCount(count: number): string {
  return format.format(count);
}

/** A count and its noun: "1 row", "37 rows". */
export function countOf(count: number, [one, many]: readonly [string, string]): string {
  return `${formatCount(count)} ${count === 1 ? one : many}`;
}
