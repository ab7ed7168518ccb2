/**
 * Numbers out of pasted text: one a line, or divided by tabs, commas or semicolons. A number that stands twice stays
 * twice, so that the service can say so.
 *
 * @param text what was pasted
 * @returns the numbers in order, without what divides them
 */
export function numbersInText(text: string): string[] {
  return text
    .split(/[\n\r\t,;]+/)
    .map((part) => part.trim())
    .filter((part) => part !== "");
}
