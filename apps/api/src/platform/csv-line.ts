import { guardFormula } from "./formula-guard.ts";

/**
 * One line of a CSV file: cells quoted where they must be, and made harmless for spreadsheets. Plain numbers stay as they
 * are.
 *
 * @source RFC 4180; OWASP, CSV Injection
 * @example csvLine(["a,b", "=1+1"]) // '"a,b",\'=1+1\r\n'
 */
export function csvLine(cells: readonly string[]): string {
  return csvCells(cells.map((text) => ({ text })));
}

/**
 * The same of cells that say what they are: text, which is made harmless for spreadsheets, or bare, a number or a date that
 * stands as it is.
 *
 * @example csvCells([{ text: "-A1" }, { bare: "-0.25" }]) // "'-A1,-0.25\r\n"
 */
export function csvCells(cells: readonly ({ readonly text: string } | { readonly bare: string })[]): string {
  const written = cells.map((cell) => {
    const safe = "text" in cell ? guardFormula(cell.text) : cell.bare;
    return /[",\r\n]/.test(safe) ? `"${safe.replaceAll('"', '""')}"` : safe;
  });
  return `${written.join(",")}\r\n`;
}
