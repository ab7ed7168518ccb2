import { getInventoryCheck, startInventoryCheck } from "@sealbook/contract/inventory-flags";
import { useQuery, useQueryClient } from "@tanstack/react-query";
import { useEffect, useRef } from "react";
import { newId } from "../../api/new-id.ts";
import { areaKey, operationOptions } from "../../api/operation-options.ts";
import { useMay } from "../../api/use-may.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { LocalInstant } from "../../trade/local-instant.tsx";
import { ProblemNotice } from "../../trade/problem-notice.tsx";
import { Button } from "../../ui/button.tsx";

/** When the inventory was last looked through, and a way to ask for it anew. */
export function LookThrough() {
  const maySettle = useMay("inventoryFlag.settle");
  const queryClient = useQueryClient();
  const starting = useSubmission(startInventoryCheck);
  const newest = useQuery({
    ...operationOptions(getInventoryCheck, {}),
    refetchInterval: ({ state }) =>
      state.data?.check != null && state.data.check.finishedAt === null ? 1500 : false,
  });
  const check = newest.data?.check ?? null;
  const isRunning = check !== null && check.finishedAt === null;
  const wasRunning = useRef(false);
  useEffect(() => {
    // What a look has found is shown as soon as it is done.
    if (wasRunning.current && !isRunning)
      void queryClient.invalidateQueries({ queryKey: areaKey("inventoryFlags") });
    wasRunning.current = isRunning;
  }, [isRunning, queryClient]);
  if (newest.error !== null)
    return <ProblemNotice error={newest.error} onRetry={() => void newest.refetch()} />;
  return (
    <div className="row">
      <span className="quiet" role="status">
        {check === null ? (
          "Nobody has asked to look through the whole inventory yet."
        ) : isRunning ? (
          "Looking through the whole inventory…"
        ) : check.failure === null ? (
          <>
            Looked through on <LocalInstant instant={check.finishedAt ?? check.askedAt} />, {check.found ?? 0}{" "}
            new
          </>
        ) : (
          check.failure
        )}
      </span>
      {maySettle ? (
        <Button
          isPending={starting.pending || isRunning}
          onClick={() => void starting.submit({ key: newId() })}
        >
          {check === null ? "Look through it" : "Look through it again"}
        </Button>
      ) : null}
    </div>
  );
}
