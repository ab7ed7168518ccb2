import type { Operation } from "@sealbook/contract/operation";
import { infiniteQueryOptions, queryOptions } from "@tanstack/react-query";
import { type CallInput, type CallReply, call } from "./call.ts";

/** A page of a list as the contract's `pageOf` describes it. */
interface Page {
  rows: unknown[];
  next: string | null;
}

/** Key under which everything of an area is cached: invalidate it after a change that touches its lists. */
export function areaKey(area: string) {
  return [area] as const;
}

/** Key of one operation's replies, with the given values: the operation's id names area and verb. */
function operationKey(operation: Operation, ...values: readonly unknown[]) {
  const area = operation.id.split(".")[0] ?? operation.id;
  return [area, operation.id, ...values] as const;
}

/** Query options of a reading operation; every feature that asks the same shares one cached reply. */
export function operationOptions<O extends Operation>(operation: O, input: Omit<CallInput<O>, "signal">) {
  const { params, query } = input as CallInput<Operation>;
  return queryOptions({
    queryKey: operationKey(operation, params ?? null, query ?? null),
    queryFn: ({ signal }) => call(operation, { ...input, signal } as CallInput<O>),
  });
}

/** Options of a list that pages by key, for useInfiniteQuery: the `next` of one page is the cursor of the following. */
export function pagesOptions<O extends Operation>(operation: O, input: Omit<CallInput<O>, "signal">) {
  const { params, query } = input as CallInput<Operation>;
  return infiniteQueryOptions({
    queryKey: operationKey(operation, params ?? null, query ?? null, "pages"),
    queryFn: ({ signal, pageParam }) =>
      call(operation, {
        ...input,
        query: { ...(query as object | undefined), cursor: pageParam },
        signal,
      } as CallInput<O>),
    initialPageParam: undefined as string | undefined,
    getNextPageParam: (page: CallReply<O>) => (page as Page).next ?? undefined,
  });
}

const rowsAtOnce = 200;
const mostPages = 25;

/** Options of a whole list that people choose from: page after page, as one reply; a list beyond 5,000 rows ends there. */
export function wholeListOptions<O extends Operation>(operation: O, input: Omit<CallInput<O>, "signal">) {
  const { params, query } = input as CallInput<Operation>;
  return queryOptions({
    queryKey: operationKey(operation, params ?? null, query ?? null, "whole"),
    queryFn: async ({ signal }) => {
      const rows: unknown[] = [];
      let cursor: string | undefined;
      let page: CallReply<O>;
      let pages = 0;
      do {
        page = await call(operation, {
          ...input,
          query: { ...(query as object | undefined), limit: rowsAtOnce, cursor },
          signal,
        } as CallInput<O>);
        rows.push(...(page as Page).rows);
        cursor = (page as Page).next ?? undefined;
        pages += 1;
      } while (cursor !== undefined && pages < mostPages);
      return { ...(page as Page), rows } as CallReply<O>;
    },
  });
}
