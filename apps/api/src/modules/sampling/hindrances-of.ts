import type { Lot } from "@sealbook/contract/sampling";
import type { Actor, Source } from "../../platform/transaction.ts";
import { findHands } from "./decision-store.ts";

export async function hindrancesOf(
  source: Source,
  decisionId: string,
  actor: Actor,
): Promise<Lot["hindrances"]> {
  const hands = await findHands(source, decisionId, actor.id);
  return hands.map(({ kind, test_id, utility_number }) => ({
    kind,
    utilityNumber: utility_number,
    testId: test_id,
    sentence:
      kind === "decided"
        ? "You made this decision."
        : kind === "tested"
          ? `You tested meter ${utility_number} of its sample.`
          : `You recorded the test of meter ${utility_number} of its sample.`,
  }));
}
