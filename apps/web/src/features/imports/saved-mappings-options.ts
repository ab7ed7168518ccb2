import { type ImportKind, listImportMappings } from "@sealbook/contract/imports";
import { wholeListOptions } from "../../api/operation-options.ts";

/** The mappings that the shop has saved for files of a kind, by name. */
export function savedMappingsOptions(kind: ImportKind) {
  return wholeListOptions(listImportMappings, { query: { kind } });
}
