import type { ElementArrangement } from "./ansi-forms.ts";
import { findForm } from "./find-form.ts";

const countByArrangement: Record<ElementArrangement, { count: string; polyphase: boolean }> = {
  "one-element": { count: "1", polyphase: false },
  "one-element-three-wire": { count: "1", polyphase: false },
  "two-element": { count: "2", polyphase: true },
  "two-element-four-wire-delta": { count: "2", polyphase: true },
  "two-and-a-half-element-wye": { count: "3", polyphase: true },
  "three-element": { count: "3", polyphase: true },
};

/**
 * How the nameplate relation Kh = c V TA / 1000 (/ 500) counts the elements of a form. It is not the factor of a series
 * test: a 2 1/2-element meter counts 3 here and 4 there.
 *
 * @param form  ANSI designation
 * @returns the count and whether the form is polyphase, or null where the table does not know the form for sure
 * @source common practice, no source
 * @example electricalCount("6S") // { count: "3", polyphase: true }
 */
export function electricalCount(form: string): { count: string; polyphase: boolean } | null {
  const arrangement = findForm(form)?.arrangement ?? null;
  return arrangement === null ? null : countByArrangement[arrangement];
}
