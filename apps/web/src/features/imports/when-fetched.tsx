import type { UseQueryResult } from "@tanstack/react-query";
import type { ReactNode } from "react";
import { ProblemNotice } from "../../trade/problem-notice.tsx";
import { Waiting } from "../../ui/waiting.tsx";

/** Draws a part once what it stands on is fetched; until then says so, and where that failed says why and asks again. */
export function WhenFetched<Data>({
  query,
  what,
  children,
}: {
  query: Pick<UseQueryResult<Data>, "data" | "error" | "refetch">;
  what: string;
  children: (data: Data) => ReactNode;
}) {
  if (query.data !== undefined) return <>{children(query.data)}</>;
  if (query.error !== null) return <ProblemNotice error={query.error} onRetry={() => void query.refetch()} />;
  return <Waiting what={what} />;
}
