import type { MappingForm, WordRow } from "./mapping-form.ts";

/**
 * The form's pointer for a JSON pointer into the body that was sent: columns and words go by heading and word there,
 * by their place in the form.
 *
 * @example mappingPointer("/body/columns/FL reg", form) // "/columns/4"
 */
export function mappingPointer(
  bodyPointer: string,
  form: Pick<MappingForm, "columns" | "reasons" | "noTestPossible" | "creepWords">,
): string {
  if (!bodyPointer.startsWith("/body/")) return bodyPointer;
  const pointer = bodyPointer.slice("/body".length);
  const match = /^\/(columns|reasons|noTestPossible|creepWords)\/(.*)$/s.exec(pointer);
  if (match === null) return pointer;
  const [, part, step = ""] = match;
  // A heading may contain a slash, which RFC 6901 writes as ~1 and the contract's own check leaves as it is.
  const names = [step.replaceAll("~1", "/").replaceAll("~0", "~"), step];
  const index =
    part === "columns"
      ? form.columns.findIndex(({ heading, field }) => field !== "" && names.includes(heading))
      : wordsIn(form, part).findIndex(({ word }) => names.includes(word.trim()));
  return index < 0 ? `/${part}` : `/${part}/${index}`;
}

function wordsIn(
  form: Pick<MappingForm, "reasons" | "noTestPossible" | "creepWords">,
  part: string | undefined,
): readonly WordRow[] {
  if (part === "reasons") return form.reasons;
  return part === "noTestPossible" ? form.noTestPossible : form.creepWords;
}
