import { may, type Permission } from "@sealbook/contract/permissions";
import { useAccount } from "./use-account.ts";

/** Whether the signed-in person may do something. It hides; the server decides. */
export function useMay(permission: Permission): boolean {
  return may(useAccount().role, permission);
}
