import { getSession } from "@sealbook/contract/people";
import { queryOptions } from "@tanstack/react-query";
import { operationOptions } from "./operation-options.ts";

/** Who is signed in. Asked once, then kept; a session that ends is noticed by the next refused request. */
export const sessionOptions = queryOptions({
  ...operationOptions(getSession, {}),
  staleTime: Number.POSITIVE_INFINITY,
  retry: false,
  meta: { quiet: true },
});
