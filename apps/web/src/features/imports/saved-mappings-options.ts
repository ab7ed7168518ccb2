import { listImportMappings } from "@sealbook/contract/imports";
import { operationOptions } from "../../api/operation-options.ts";

/** The mappings that the shop has saved, by name. */
export const savedMappingsOptions = operationOptions(listImportMappings, { query: { limit: 200 } });
