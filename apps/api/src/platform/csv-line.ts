import { guardFormula } from "./formula-guard.ts";

/**
 * One line of a CSV file: cells quoted where they must be, and made harmless for spreadsheets. Plain numbers stay as they
 * are.
 *
 * @source RFC 4180; OWASP, CSV Injection
 * @example csvLine(["a,b", "=1+1"]) // '"a,b",\'=1+1\r\n'
 */
export function csvLine(cells: readonly string[]): string {
  const written = cells.map((cell) => {
    const safe = guardFormula(cell);
    return /[",\r\n]/.test(safe) ? `"${safe.replaceAll('"', '""')}"` : safe;
  });
  return `${written.join(",")}\r\n`;
}
