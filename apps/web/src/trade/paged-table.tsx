import type { Operation } from "@sealbook/contract/operation";
import { keepPreviousData, useInfiniteQuery } from "@tanstack/react-query";
import type { ReactNode } from "react";
import type { CallInput, CallReply } from "../api/call.ts";
import { pagesOptions } from "../api/operation-options.ts";
import { type Column, DataTable } from "../ui/data-table.tsx";
import { Pager } from "../ui/pager.tsx";
import { Waiting } from "../ui/waiting.tsx";
import { ProblemNotice } from "./problem-notice.tsx";

/** A row of a listing operation. */
export type RowOf<O> = CallReply<O> extends { rows: (infer Row)[] } ? Row : never;

/** A list of the service's as a table that pages by key, in its four states. */
export function PagedTable<O extends Operation>({
  operation,
  input,
  caption,
  noun,
  columns,
  rowKey,
  isQuiet,
  empty,
}: {
  operation: O;
  /** Parameters and filters; filters that are "" are left out. */
  input: Omit<CallInput<O>, "signal">;
  caption: string;
  /** What the rows are, singular and plural: ["meter", "meters"]. */
  noun: readonly [string, string];
  columns: readonly Column<RowOf<O>>[];
  rowKey: (row: RowOf<O>) => string;
  isQuiet?: (row: RowOf<O>) => boolean;
  /** What stands where there are no rows, with what to do next. */
  empty: ReactNode;
}) {
  const list = useInfiniteQuery({ ...pagesOptions(operation, input), placeholderData: keepPreviousData });
  if (list.data === undefined) {
    if (list.error !== null) return <ProblemNotice error={list.error} onRetry={() => void list.refetch()} />;
    return <Waiting what={`the ${noun[1]}`} />;
  }
  const rows = list.data.pages.flatMap((page) => (page as { rows: RowOf<O>[] }).rows);
  return (
    <div className="stack-tight">
      {list.error === null ? null : (
        <ProblemNotice error={list.error} onRetry={() => void list.fetchNextPage()} />
      )}
      {rows.length === 0 ? (
        empty
      ) : (
        <>
          <DataTable
            caption={caption}
            columns={columns}
            rows={rows}
            rowKey={rowKey}
            {...(isQuiet === undefined ? {} : { isQuiet })}
          />
          <Pager
            shown={rows.length}
            noun={noun}
            hasMore={list.hasNextPage}
            isFetching={list.isFetchingNextPage}
            onMore={() => void list.fetchNextPage()}
          />
        </>
      )}
    </div>
  );
}
