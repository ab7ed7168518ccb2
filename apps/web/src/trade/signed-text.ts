/**
 * A decimal with its sign before it: a plus, or a minus as wide as the plus; zero carries none.
 *
 * @param text  plain decimal text
 * @example signedText("-1.506") // "−1.506" with U+2212
 */
export function signedText(text: string): string {
  if (text.startsWith("-")) return `\u2212${text.slice(1)}`;
  return /[1-9]/.test(text) ? `+${text}` : text;
}
