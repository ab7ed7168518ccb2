/** A file's headings as titles of columns: blank ones and those that stand twice are told apart by their place. */
export function columnTitles(headings: readonly string[]): string[] {
  const trimmed = headings.map((heading) => heading.trim());
  return trimmed.map((heading, index) => {
    const isAlone = heading !== "" && trimmed.indexOf(heading) === trimmed.lastIndexOf(heading);
    return isAlone ? heading : `${heading} (column ${index + 1})`.trim();
  });
}
