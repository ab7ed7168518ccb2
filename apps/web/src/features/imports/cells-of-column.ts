/** What the first rows of a file hold in one column, blanks left out, each once. */
export function cellsOfColumn(sample: readonly (readonly string[])[], index: number): string[] {
  return [...new Set(sample.map((row) => (row[index] ?? "").trim()).filter((cell) => cell !== ""))];
}
