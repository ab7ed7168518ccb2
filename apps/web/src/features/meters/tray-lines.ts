/** One line of a tray: a number, with a register reading where the move asks for one. */
export interface TrayLine {
  number: string;
  registerReading: string | null;
  readingNote: null;
}

/**
 * The meters of a tray out of scanned or pasted text.
 *
 * @param text          numbers divided by anything: line ends, tabs, commas, semicolons, bars or spaces
 * @param withReadings  each line is a number and the reading of its register
 */
export function trayLines(text: string, withReadings: boolean): TrayLine[] {
  if (!withReadings) {
    return partsOf(text).map((number) => ({ number, registerReading: null, readingNote: null }));
  }
  return text.split(/[\n\r]+/).flatMap((line) => {
    const [number, reading] = partsOf(line);
    return number === undefined ? [] : [{ number, registerReading: reading ?? null, readingNote: null }];
  });
}

/** One meter to be received. */
export interface ReceiptLine {
  serial: string;
  utilityNumber: string;
}

/**
 * The meters of a receipt out of pasted text: a line is a serial and its utility number. Where lines have a serial
 * alone, numbers are given on from the first.
 *
 * @param text         "BM1234, 00300001", one meter a line, divided by tabs, commas, semicolons, bars or spaces
 * @param firstNumber  utility number of the first line without one; its digits at the end count up, its width stays
 * @returns the lines in order, or the first line that has no number
 */
export function receiptLines(
  text: string,
  firstNumber: string,
): { kind: "lines"; lines: ReceiptLine[] } | { kind: "no-number"; line: number; serial: string } {
  const lines: ReceiptLine[] = [];
  let next: string | null = firstNumber.trim() === "" ? null : firstNumber.trim();
  for (const row of text.split(/[\n\r]+/)) {
    const [serial, given] = partsOf(row);
    if (serial === undefined) continue;
    const utilityNumber = given ?? next;
    if (utilityNumber === null) return { kind: "no-number", line: lines.length + 1, serial };
    if (given === undefined && next !== null) next = numberAfter(next);
    lines.push({ serial, utilityNumber });
  }
  return { kind: "lines", lines };
}

/** The number after one: "00300009" -> "00300010", "M-99" -> "M-100"; null where it does not end in digits. */
export function numberAfter(number: string): string | null {
  const match = /^(.*?)(\d+)$/.exec(number);
  if (match === null) return null;
  const [, before = "", digits = ""] = match;
  return `${before}${String(BigInt(digits) + 1n).padStart(digits.length, "0")}`;
}

function partsOf(text: string): string[] {
  return text.split(/[\s,;|]+/).filter((part) => part !== "");
}
