import { type AnsiForm, ansiForms } from "./ansi-forms.ts";

/** Bottom-connected A forms from 1A to 17A are twins of the socket forms of the same number. */
const LAST_BOTTOM_CONNECTED_TWIN = 17;

/**
 * Looks a form up by its designation. A bottom-connected A form is found as the twin of the S form of its number, with
 * at most medium confidence.
 *
 * @param designation  such as "9S" or "16A"; case and blanks do not matter
 * @returns the row, or null when the form is not in the table
 * @source ansiForms; the twins are common practice, no source
 * @example findForm("9s")?.elements // 3
 */
export function findForm(designation: string): AnsiForm | null {
  const wanted = designation.replaceAll(/\s/g, "").toUpperCase();
  const exact = ansiForms.find(({ form }) => form === wanted);
  if (exact !== undefined) {
    return exact;
  }
  const number = /^(\d{1,2})A$/.exec(wanted)?.[1];
  if (number === undefined || Number(number) > LAST_BOTTOM_CONNECTED_TWIN) {
    return null;
  }
  const twin = ansiForms.find(({ form }) => form === `${number}S`);
  if (twin === undefined) {
    return null;
  }
  return {
    ...twin,
    form: wanted,
    confidence: twin.confidence === "high" ? "medium" : twin.confidence,
    source: `bottom-connected twin of ${twin.form}: common practice, no source`,
  };
}
