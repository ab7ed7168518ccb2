import { getImport } from "@sealbook/contract/imports";
import { useQueryClient, useSuspenseQuery } from "@tanstack/react-query";
import { useEffect, useRef } from "react";
import { areaKey, operationOptions } from "../../api/operation-options.ts";
import { isUnderWay } from "./import-state.ts";

const pollMilliseconds = 1000;

/**
 * An import, followed every second while a step of it goes on. When the step ends, whatever it may have changed is
 * asked again.
 *
 * @returns the import, and the error of the last attempt to follow it
 */
export function useImport(id: string) {
  const queryClient = useQueryClient();
  const { data, error } = useSuspenseQuery({
    ...operationOptions(getImport, { params: { id } }),
    refetchInterval: ({ state }) =>
      state.data !== undefined && isUnderWay(state.data.state) ? pollMilliseconds : false,
  });
  const goesOn = isUnderWay(data.state);
  const wentOn = useRef(goesOn);
  useEffect(() => {
    if (wentOn.current && !goesOn) {
      for (const area of ["imports", "meterTests", "meters", "workItems", "sampling", "ledger"]) {
        void queryClient.invalidateQueries({ queryKey: areaKey(area) });
      }
    }
    wentOn.current = goesOn;
  }, [goesOn, queryClient]);
  return { import: data, followError: error };
}
