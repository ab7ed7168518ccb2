import { useQueryClient } from "@tanstack/react-query";
import { useEffect } from "react";
import { areaKey } from "../../api/operation-options.ts";
import type { ProblemError } from "../../api/problem-error.ts";

const clashes = ["stale", "wrong-state", "already-exists"];

/** Asks for the lot anew when somebody else was first, so that the page shows what stands now beside the refusal. */
export function useRefreshOnClash(problem: ProblemError | null): void {
  const queryClient = useQueryClient();
  useEffect(() => {
    if (problem === null || !clashes.includes(problem.slug)) return;
    void queryClient.invalidateQueries({ queryKey: areaKey("sampling") });
    void queryClient.invalidateQueries({ queryKey: areaKey("groups") });
  }, [problem, queryClient]);
}
