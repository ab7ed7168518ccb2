import { getShop } from "@sealbook/contract/people";
import { queryOptions, useSuspenseQuery } from "@tanstack/react-query";
import { operationOptions } from "./operation-options.ts";

/** The shop; its `today` turns over at midnight there, so an open page asks again now and then. */
export const shopOptions = queryOptions({ ...operationOptions(getShop, {}), staleTime: 10 * 60_000 });

/** The shop's name, time zone, home jurisdiction and today's date. Use below the shell. */
export function useShop() {
  return useSuspenseQuery(shopOptions).data;
}
