/** Why a piece of evidence is refused: a name, what was found, and what would have been accepted. */
export interface Refused<Name extends string> {
  readonly kind: "refused";
  readonly refusal: Name;
  readonly got: string;
  readonly want: string;
}

/** A refusal as a value. */
export function refused<Name extends string>(refusal: Name, got: string, want: string): Refused<Name> {
  return { kind: "refused", refusal, got, want };
}
