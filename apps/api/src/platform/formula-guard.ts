/** A text that a spreadsheet would run, or one that looks like such a text with our mark before it. */
const formulaLike = /^'*[=+\-@\t\r]/;
const plainNumber = /^[+-]?\d+([.,]\d+)?$/;

/**
 * Text of a cell made harmless for spreadsheets: one apostrophe before what they would take for a formula. Plain
 * numbers stay as they are. stripFormulaGuard takes it off again, so a file goes out and comes back unchanged.
 *
 * @source OWASP, CSV Injection
 * @example guardFormula("=1+1") // "'=1+1"
 */
export function guardFormula(text: string): string {
  return formulaLike.test(text) && !plainNumber.test(text) ? `'${text}` : text;
}

/** Takes off the apostrophe that guardFormula put before a text. */
export function stripFormulaGuard(text: string): string {
  return text.startsWith("'") && formulaLike.test(text) ? text.slice(1) : text;
}
