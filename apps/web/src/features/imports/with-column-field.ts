import { untestableReasons } from "@sealbook/contract/meter-tests";
import { testReasons } from "@sealbook/contract/work-items";
import type { MappingForm } from "./mapping-form.ts";
import { withWords } from "./word-rows.ts";

/** Which list of words belongs to a field of words, and the words that need no entry as they are ours already. */
const wordLists = {
  reason: { part: "reasons", ours: testReasons },
  noTestPossible: { part: "noTestPossible", ours: untestableReasons },
  creep: { part: "creepWords", ours: ["none", "creeps", "not-checked"] },
  creepAsLeft: { part: "creepWords", ours: ["none", "creeps", "not-checked"] },
} as const satisfies Record<
  string,
  { part: "reasons" | "noTestPossible" | "creepWords"; ours: readonly string[] }
>;

/**
 * The form with one column's meaning chosen. Where it is a column of words, those of the first rows are listed, so that
 * only their meanings are left to choose.
 *
 * @param cells  what the first rows hold in the column
 */
export function withColumnField(
  form: MappingForm,
  index: number,
  field: string,
  cells: readonly string[],
): MappingForm {
  const columns = form.columns.map((column, place) => (place === index ? { ...column, field } : column));
  return withUnknownWords({ ...form, columns }, field, cells);
}

/** The form with words of the file listed under the field that they belong to; other fields have no list of words. */
export function withUnknownWords(form: MappingForm, field: string, words: readonly string[]): MappingForm {
  if (!isWordField(field)) return form;
  const { part, ours } = wordLists[field];
  const theirs = words.filter((word) => !(ours as readonly string[]).includes(word.toLowerCase()));
  return { ...form, [part]: withWords(form[part], theirs) };
}

function isWordField(field: string): field is keyof typeof wordLists {
  return Object.hasOwn(wordLists, field);
}
