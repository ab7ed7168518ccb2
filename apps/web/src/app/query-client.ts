import { MutationCache, QueryCache, QueryClient } from "@tanstack/react-query";
import { ProblemError } from "../api/problem-error.ts";
import { noticeEndedSession } from "./session-ended.ts";

function watch(error: Error, meta: Record<string, unknown> | undefined): void {
  if (meta?.quiet !== true && error instanceof ProblemError && error.slug === "not-signed-in") {
    noticeEndedSession();
  }
}

/** The one cache of what the service said. A refusal because the session ended is noticed here, for every screen. */
export const queryClient = new QueryClient({
  queryCache: new QueryCache({ onError: (error, query) => watch(error, query.meta) }),
  mutationCache: new MutationCache({
    onError: (error, _variables, _result, mutation) => watch(error, mutation.meta),
  }),
  defaultOptions: {
    queries: {
      staleTime: 15_000,
      // A refusal stays a refusal; only a lost connection is tried again.
      retry: (count, error) => error instanceof ProblemError && error.slug === "unavailable" && count < 2,
      // The browser cannot tell a lost network from a shop without the internet: the service itself is asked.
      networkMode: "always",
    },
    mutations: { retry: false, networkMode: "always" },
  },
});
