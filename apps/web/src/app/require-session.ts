import { redirect } from "@tanstack/react-router";
import { ProblemError } from "../api/problem-error.ts";
import { sessionOptions } from "../api/session-options.ts";
import { shopOptions } from "../api/use-shop.ts";
import { paths } from "../paths.ts";
import { queryClient } from "./query-client.ts";

/** Makes sure of a session before a page is drawn; without one it leads to the sign-in page, and back afterwards. */
export async function requireSession(address: string) {
  try {
    const session = await queryClient.ensureQueryData(sessionOptions);
    await queryClient.ensureQueryData(shopOptions);
    return session;
  } catch (error) {
    if (error instanceof ProblemError && error.slug === "not-signed-in") {
      throw redirect({ to: paths.signIn(), search: { from: address } });
    }
    throw error;
  }
}
