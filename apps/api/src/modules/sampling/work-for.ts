import { newId } from "../../platform/transaction.ts";
import type { LockedLot } from "./lot-store.ts";
import { reasonOfKind } from "./reason-of-kind.ts";

/** The work that a place of the sample asks for. */
export function workFor(lot: LockedLot, drawId: string, meterId: string, place: number) {
  return {
    id: newId(),
    drawId,
    meterId,
    reason: reasonOfKind[lot.kind],
    dueOn: lot.dueOn,
    note: `Lot ${lot.number}, place ${place} of the sample`,
  };
}
