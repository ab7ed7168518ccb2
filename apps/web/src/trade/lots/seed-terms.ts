import type { SeedSource, SeedTerms } from "@sealbook/contract/sampling";
import type { PlacedError } from "../../api/use-submission.ts";
import { readLocal } from "../read-local.ts";

/** How the seed comes about, as a form holds it. */
export interface SeedDraft {
  source: SeedSource | "";
  announcement: string;
  notBefore: string;
}

export const newSeedDraft: SeedDraft = { source: "", announcement: "", notBefore: "" };

/**
 * Turns what was typed about the seed into its terms.
 *
 * @param draft     the form
 * @param timeZone  the shop's zone, in which the instant was typed
 * @returns the terms, or what is wrong and where
 */
export function seedTermsOf(
  draft: SeedDraft,
  timeZone: string,
): { terms: SeedTerms } | { error: PlacedError } {
  if (draft.source === "") {
    return { error: { pointer: "/seed/source", detail: "Say where the seed comes from." } };
  }
  const read = draft.notBefore.trim() === "" ? null : readLocal(draft.notBefore, timeZone);
  if (read?.kind === "none") return { error: { pointer: "/seed/notBefore", detail: read.detail } };
  const notBefore = read?.instant ?? null;
  if (draft.source !== "announced-number") {
    return { terms: { source: draft.source, announcement: null, notBefore: null } };
  }
  if (draft.announcement.trim() === "") {
    return {
      error: {
        pointer: "/seed/announcement",
        detail: "Name the number beforehand: which, published by whom and when.",
      },
    };
  }
  return { terms: { source: draft.source, announcement: draft.announcement.trim(), notBefore } };
}
