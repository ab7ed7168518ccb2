import type { ImportMappingBody } from "@sealbook/contract/imports";

type Separator = ImportMappingBody["separator"];
const separators: readonly Separator[] = [",", ";", "\t", "|"];

/**
 * The separator that cuts a file's first line into as many cells as it has headings; of several the first.
 *
 * @param firstLine  the first line as it stands; quoted cells may contain separators
 * @param headings   how many headings the service found in it
 * @returns the comma where none does, as for a file of one column
 * @returns "" where none does: then a person is asked
 * @source RFC 4180 section 2 for quotes
 */
export function separatorOf(firstLine: string, headings: number): Separator | "" {
  const outsideQuotes = firstLine.replaceAll(/"[^"]*"/g, "");
  const fits = (separator: Separator) => outsideQuotes.split(separator).length === headings;
  return separators.find(fits) ?? "";
}
