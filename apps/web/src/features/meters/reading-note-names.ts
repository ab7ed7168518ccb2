import type { ReadingNote } from "@sealbook/metrology/life-cycle/reading-question";

/** What can be said of a register reading that is missing or goes backwards. */
export const readingNoteNames: Record<ReadingNote, string> = {
  "rolled-over": "The register rolled over",
  "register-replaced": "The register was replaced or reset",
  "not-readable": "It cannot be read",
};
