import { electricalCount } from "./electrical-count.ts";
import { findForm } from "./find-form.ts";

/**
 * Do the wires and phases of a meter type agree with its form? Advisory: a form of which the table is not sure is not
 * held against anything.
 *
 * @param type.form    ANSI designation
 * @param type.wires   2 to 4
 * @param type.phases  1 to 3
 * @returns a sentence for each disagreement, empty where there is none
 * @source ansiForms, electricalCount
 * @example checkService({ form: "2S", wires: 4, phases: 1 }) // ["Form 2S has 3 wires; the type says 4."]
 */
export function checkService({
  form,
  wires,
  phases,
}: {
  form: string;
  wires: number;
  phases: number;
}): string[] {
  const row = findForm(form);
  const count = electricalCount(form);
  const sentences: string[] = [];
  if (row?.wires !== undefined && row.wires !== null && !row.wires.split(" or ").includes(String(wires)))
    sentences.push(`Form ${row.form} has ${row.wires} wires; the type says ${wires}.`);
  if (count !== null && count.polyphase !== phases > 1)
    sentences.push(
      `Form ${row?.form ?? form} is for ${count.polyphase ? "polyphase" : "single-phase"} service; the type says ${phases} ${phases === 1 ? "phase" : "phases"}.`,
    );
  return sentences;
}
