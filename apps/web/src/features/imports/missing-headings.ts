import type { ImportMappingBody } from "@sealbook/contract/imports";

/** Columns that a mapping names and a file has not; blanks around a heading do not count. */
export function missingHeadings(
  { columns }: Pick<ImportMappingBody, "columns">,
  headings: readonly string[],
): string[] {
  const present = new Set(headings.map((heading) => heading.trim()));
  return Object.keys(columns).filter((heading) => !present.has(heading.trim()));
}
