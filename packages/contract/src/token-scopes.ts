import { may, type Permission, permissions, type Role } from "./permissions.ts";

/** What an API token may be made for; its owner's role still bounds it. */
export const tokenScopes = ["record-tests", "run-imports", "read"] as const;
export type TokenScope = (typeof tokenScopes)[number];

export const tokenScopeNames: Record<TokenScope, string> = {
  "record-tests": "Record tests, and read what that needs",
  "run-imports": "Run imports, and read what that needs",
  read: "Read the book, but no people",
};

/**
 * What each scope opens. Absent from all of them, and so closed to every token: signing, amending, deciding and
 * approving, people and tokens, one's own session, and whatever is added to the table of permissions later.
 */
const permissionsOfScope: Record<TokenScope, readonly Permission[]> = {
  "record-tests": [
    "meterTest.record",
    "meterTest.read",
    "meter.read",
    "meterType.read",
    "testPlan.read",
    "standard.read",
    "profile.read",
    "workItem.read",
    "shop.read",
    "file.read",
    "file.add",
    "calculation.run",
  ],
  "run-imports": [
    "import.run",
    "import.read",
    "file.read",
    "file.add",
    "meter.read",
    "meterType.read",
    "shop.read",
  ],
  read: [
    "shop.read",
    "ledger.read",
    "log.read",
    "profile.read",
    "calculation.run",
    "meter.read",
    "meterType.read",
    "servicePoint.read",
    "place.read",
    "testPlan.read",
    "standard.read",
    "meterTest.read",
    "workItem.read",
    "sampling.read",
    "import.read",
    "file.read",
    "report.read",
  ],
};

/** Whether a token of somebody with this role opens what a permission guards. */
export function tokenMay(role: Role, scopes: readonly TokenScope[], permission: Permission): boolean {
  if (permissions[permission] === "anyone") return true;
  return may(role, permission) && scopes.some((scope) => permissionsOfScope[scope].includes(permission));
}
