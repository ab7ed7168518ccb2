import type { WordRow } from "./mapping-form.ts";

/** Rows for words, each with a key of its own; those given with their meanings, "" where it is not known. */
export function wordRows(words: Iterable<readonly [word: string, meaning: string]>): WordRow[] {
  return [...words].map(([word, meaning], key) => ({ key, word, meaning }));
}

/** The rows with a blank one at the end. */
export function withBlankRow(rows: readonly WordRow[]): WordRow[] {
  const key = Math.max(-1, ...rows.map((row) => row.key)) + 1;
  return [...rows, { key, word: "", meaning: "" }];
}

/** The rows with these words of the file among them: those not there yet are added, their meaning to be chosen. */
export function withWords(rows: readonly WordRow[], words: readonly string[]): WordRow[] {
  let all = [...rows];
  for (const word of words) {
    const isThere = all.some((row) => row.word.trim().toLowerCase() === word.trim().toLowerCase());
    if (isThere || word.trim() === "") continue;
    const blank = withBlankRow(all).at(-1);
    if (blank !== undefined) all = [...all, { ...blank, word: word.trim() }];
  }
  return all;
}
