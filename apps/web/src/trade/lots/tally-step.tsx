import { evaluateLot, type Lot } from "@sealbook/contract/sampling";
import { useQuery } from "@tanstack/react-query";
import { operationOptions } from "../../api/operation-options.ts";
import { Empty } from "../../ui/empty.tsx";
import { Waiting } from "../../ui/waiting.tsx";
import { ProblemNotice } from "../problem-notice.tsx";
import { EvaluationView } from "./evaluation-view.tsx";
import { LotStep } from "./lot-step.tsx";

/** What the results say so far, while they come in; the decision shows what they said in the end. */
export function TallyStep({ lot, number }: { lot: Lot; number: number }) {
  const isDrawn = lot.lists.at(-1)?.draw != null;
  const isRunning = isDrawn && lot.decision === null;
  const tally = useQuery({
    ...operationOptions(evaluateLot, { params: { id: lot.id } }),
    enabled: isRunning,
    refetchInterval: lot.state === "drawn" ? 15_000 : false,
  });
  return (
    <LotStep number={number} title="Running tally" isAhead={!isDrawn}>
      {!isDrawn ? (
        <Empty title="It begins with the first result of the sample." />
      ) : !isRunning ? (
        <Empty title="All results are in: the decision below shows them." />
      ) : tally.data !== undefined ? (
        <EvaluationView evaluation={tally.data} />
      ) : tally.error !== null ? (
        <ProblemNotice error={tally.error} onRetry={() => void tally.refetch()} />
      ) : (
        <Waiting what="the tally" />
      )}
    </LotStep>
  );
}
