import type { ImportMappingBody } from "@sealbook/contract/imports";

/**
 * The order of day, month and year that these cells are written in, where they leave no doubt: 03/04/2026 alone may be
 * read both ways, 31/03/2026 may not.
 *
 * @param cells  any cells; those that do not begin with a date are passed over
 * @returns "" where there is doubt: then a person is asked
 */
export function dateOrderOf(cells: readonly string[]): ImportMappingBody["dateOrder"] | "" {
  const found = new Set<ImportMappingBody["dateOrder"]>();
  for (const cell of cells) {
    if (/^\d{4}-\d{1,2}-\d{1,2}(?!\d)/.test(cell.trim())) found.add("iso");
    const match = /^(\d{1,2})([./-])(\d{1,2})\2\d{4}(?!\d)/.exec(cell.trim());
    if (match === null) continue;
    if (Number(match[1]) > 12) found.add("day-month-year");
    if (Number(match[3]) > 12) found.add("month-day-year");
  }
  const [order] = found;
  return found.size === 1 && order !== undefined ? order : "";
}
