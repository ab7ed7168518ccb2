import type { ProblemSlug } from "@sealbook/contract/problems";
import { useQueryErrorResetBoundary } from "@tanstack/react-query";
import { type ErrorComponentProps, useRouter } from "@tanstack/react-router";
import { useCallback, useEffect, useSyncExternalStore } from "react";
import { ProblemError } from "../api/problem-error.ts";
import { paths } from "../paths.ts";
import { ProblemNotice } from "../trade/problem-notice.tsx";
import { ButtonLink } from "../ui/button-link.tsx";
import { PageHeader } from "../ui/page-header.tsx";
import { PageNotFetchedError } from "./fetch-page.ts";
import { isSessionEnded, subscribeToSession } from "./session-ended.ts";

const titles: Partial<Record<ProblemSlug, string>> = {
  "not-found": "No such record",
  "not-permitted": "Not for your role",
};

/** Stands in place of a page that could not be shown; draws it again after a retry or a new sign-in. */
export function PageProblem({ error, reset }: ErrorComponentProps) {
  const router = useRouter();
  const { reset: resetQueries } = useQueryErrorResetBoundary();
  const isEnded = useSyncExternalStore(subscribeToSession, isSessionEnded);
  const isSessionProblem = error instanceof ProblemError && error.slug === "not-signed-in";
  const retry = useCallback(() => {
    // Nothing typed is lost by it: the page that was asked for never came, and the one before was left.
    if (error instanceof PageNotFetchedError && navigator.onLine) {
      window.location.reload();
      return;
    }
    resetQueries();
    reset();
    void router.invalidate();
  }, [error, resetQueries, reset, router]);
  useEffect(() => {
    if (isSessionProblem && !isEnded) retry();
  }, [isSessionProblem, isEnded, retry]);
  const slug = error instanceof ProblemError ? error.slug : null;
  return (
    <div className="stack">
      <PageHeader title={(slug === null ? undefined : titles[slug]) ?? "This page could not be shown"} />
      <ProblemNotice
        error={error instanceof Error ? error : new Error(String(error))}
        {...(slug === "not-permitted" ? {} : { onRetry: retry })}
      />
      <div>
        <ButtonLink to={paths.home()}>Go to your first page</ButtonLink>
      </div>
    </div>
  );
}
