import type { Role } from "@sealbook/contract/permissions";
import { paths } from "../paths.ts";

const homes: Record<Role, string> = {
  technician: paths.log(),
  "quality-engineer": paths.tests(),
  supervisor: paths.work(),
  storekeeper: paths.meters(),
  regulator: paths.reports(),
  administrator: paths.people(),
};

/** The page on which a role's day begins. */
export function homeOf(role: Role): string {
  return homes[role];
}
