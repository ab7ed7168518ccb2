import { useSuspenseQuery } from "@tanstack/react-query";
import { sessionOptions } from "./session-options.ts";

/** The signed-in account. Use below the shell only, where a session is certain. */
export function useAccount() {
  return useSuspenseQuery(sessionOptions).data.account;
}
