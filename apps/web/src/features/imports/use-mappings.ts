import { type Import, type ImportMapping, listImportMappings } from "@sealbook/contract/imports";
import { useSuspenseQuery } from "@tanstack/react-query";
import { operationOptions } from "../../api/operation-options.ts";
import { useSearchText } from "../../ui/use-search-text.ts";
import { missingHeadings } from "./missing-headings.ts";

export const savedMappingsOptions = operationOptions(listImportMappings, { query: { limit: 200 } });

/**
 * The saved mappings, those that fit the file first, and the one in use: the one in the address, else the import's,
 * else the only one whose columns the file has.
 */
export function useMappings(of: Pick<Import, "headings" | "mapping">): {
  mappings: ImportMapping[];
  chosen: ImportMapping | null;
} {
  const [{ mapping }] = useSearchText();
  const saved = useSuspenseQuery(savedMappingsOptions).data.rows;
  const fitting = saved.filter(({ body }) => missingHeadings(body, of.headings).length === 0);
  const wanted = mapping ?? of.mapping?.id ?? (fitting.length === 1 ? fitting[0]?.id : undefined);
  return {
    mappings: [...fitting, ...saved.filter((one) => !fitting.includes(one))],
    chosen: saved.find(({ id }) => id === wanted) ?? null,
  };
}
