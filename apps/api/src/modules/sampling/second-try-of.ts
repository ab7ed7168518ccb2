import type { Lot } from "@sealbook/contract/sampling";
import { secondTry } from "@sealbook/metrology/sampling/decision/second-try";
import { localDate } from "../../platform/local-date.ts";
import { shopCalendar } from "../../platform/shop-calendar.ts";
import type { Source } from "../../platform/transaction.ts";
import type { WholeLot } from "./whole-lot.ts";

/** The second try that the plan of a refused lot grants, as it stands today. */
export async function secondTryOf(source: Source, lot: WholeLot): Promise<Lot["secondTry"]> {
  if (lot.kind !== "in-service" || lot.decision === null) return null;
  const { timeZone, today } = await shopCalendar(source);
  const granted = secondTry(
    lot.schemeBody,
    {
      outcome: lot.decision.outcome,
      decidedOn: localDate(new Date(lot.decision.decidedAt), timeZone),
      severities: lot.severities.map(({ severity }) => severity),
      isSecondTry: lot.secondTryOfId !== null,
    },
    today,
  );
  if (granted === null) return null;
  const refusal =
    granted.refusal ??
    (lot.secondTryId !== null
      ? "It was asked for already."
      : lot.state === "decided"
        ? "It is asked for once the refusal is approved."
        : lot.state !== "approved"
          ? "This group is closed."
          : null);
  return { ...granted, refusal, lotId: lot.secondTryId };
}
