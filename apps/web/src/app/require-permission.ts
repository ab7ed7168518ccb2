import { may, type Permission } from "@sealbook/contract/permissions";
import { problems } from "@sealbook/contract/problems";
import { ProblemError } from "../api/problem-error.ts";
import { sessionOptions } from "../api/session-options.ts";
import { queryClient } from "./query-client.ts";

/**
 * Spares somebody the filling in of a form that the service would refuse.
 *
 * @throws ProblemError ("not-permitted") if the signed-in person's role does not hold the permission
 */
export async function requirePermission(permission: Permission): Promise<void> {
  const { account } = await queryClient.ensureQueryData(sessionOptions);
  if (may(account.role, permission)) return;
  const { status, title, meaning, remedy } = problems["not-permitted"];
  throw new ProblemError({ type: "/problems/not-permitted", status, title, detail: `${meaning} ${remedy}` });
}
