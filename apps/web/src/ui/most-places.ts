/** The most decimals that any of these numbers is written with. */
export function mostPlaces(texts: readonly (string | null)[]): number {
  return Math.max(0, ...texts.map((text) => text?.split(".")[1]?.length ?? 0));
}
