import type { Import, ImportMapping } from "@sealbook/contract/imports";
import { useSearchText } from "../../ui/use-search-text.ts";
import { missingHeadings } from "./missing-headings.ts";

/**
 * The mappings that fit a file first, and the one in use: the one in the address, else the import's, else the only one
 * whose columns the file has.
 */
export function useMappingChoice(
  of: Pick<Import, "headings" | "mapping">,
  saved: readonly ImportMapping[],
): { mappings: ImportMapping[]; chosen: ImportMapping | null } {
  const [{ mapping }] = useSearchText();
  const fitting = saved.filter(({ body }) => missingHeadings(body, of.headings).length === 0);
  const wanted = mapping ?? of.mapping?.id ?? (fitting.length === 1 ? fitting[0]?.id : undefined);
  return {
    mappings: [...fitting, ...saved.filter((one) => !fitting.includes(one))],
    chosen: saved.find(({ id }) => id === wanted) ?? null,
  };
}
