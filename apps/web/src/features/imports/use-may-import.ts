import { type ImportKind, importKindPermissions } from "@sealbook/contract/imports";
import { useMay } from "../../api/use-may.ts";

/** Whether the signed-in person may take in files of a kind. It hides; the server decides. */
export function useMayImport(kind: ImportKind): boolean {
  const mayImport = useMay("import.run");
  const mayPutIn = useMay(importKindPermissions[kind]);
  return mayImport && mayPutIn;
}
