import { getLot, type Lot } from "@sealbook/contract/sampling";
import { useSuspenseQuery } from "@tanstack/react-query";
import { operationOptions } from "../../api/operation-options.ts";

/** The lot of a page; asked for again now and then while its results come in from the bench. */
export function useLot(id: string): Lot {
  return useSuspenseQuery({
    ...operationOptions(getLot, { params: { id } }),
    refetchInterval: ({ state }) => (state.data?.state === "drawn" ? 15_000 : false),
  }).data;
}
