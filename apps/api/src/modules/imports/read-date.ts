import type { ImportMappingBody } from "@sealbook/contract/imports";

export type DateOrder = ImportMappingBody["dateOrder"];

/**
 * Reads a calendar date. Years have four digits: a shorter one is a guess at a century.
 *
 * @param order order of the date's parts as the mapping says
 * @returns null for what is no date that exists, of 1900 or later
 * @source ISO 8601 for order "iso"
 * @example readDate("31.03.2026", "day-month-year") // { year: 2026, month: 3, day: 31 }
 */
export function readDate(
  text: string,
  order: DateOrder,
): { year: number; month: number; day: number } | null {
  const match =
    order === "iso"
      ? /^(\d{4})-(\d{1,2})-(\d{1,2})$/.exec(text)
      : /^(\d{1,2})([./-])(\d{1,2})\2(\d{4})$/.exec(text);
  if (match === null) return null;
  const number = (index: number) => Number(match[index]);
  const [year, month, day] =
    order === "iso"
      ? [number(1), number(2), number(3)]
      : order === "day-month-year"
        ? [number(4), number(3), number(1)]
        : [number(4), number(1), number(3)];
  const calendar = new Date(Date.UTC(year, month - 1, day));
  const exists =
    year >= 1900 && month >= 1 && month <= 12 && calendar.getUTCMonth() === month - 1 && day >= 1;
  return exists ? { year, month, day } : null;
}
