import type { SchemeDraft } from "./scheme-draft.ts";

/** What every part of the scheme's form takes. */
export interface SchemePart {
  draft: SchemeDraft;
  onChange: (changes: Partial<SchemeDraft>) => void;
  errorAt: (pointer: string) => string | undefined;
}
