/** A date from the address; anything else is no filter. */
export function dateIn(text: string | undefined): string | undefined {
  return text !== undefined && /^\d{4}-\d{2}-\d{2}$/.test(text) ? text : undefined;
}
