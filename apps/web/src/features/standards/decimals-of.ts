/** Most decimals that any of these numbers is written with, so that a column shows all of them whole and aligned. */
export function decimalsOf(texts: readonly string[]): number {
  return Math.max(0, ...texts.map((text) => text.split(".")[1]?.length ?? 0));
}
