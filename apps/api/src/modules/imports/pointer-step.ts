/** One step of a JSON pointer. @source RFC 6901 section 3 */
export function pointerStep(text: string): string {
  return text.replaceAll("~", "~0").replaceAll("/", "~1");
}
