import type { CorrectiveAction } from "@sealbook/contract/corrective-actions";
import type { Lot } from "@sealbook/contract/sampling";
import { fromCursor, toPage } from "../../platform/cursor.ts";
import type { Database } from "../../platform/database.ts";
import { isForeignKeyViolation, isUniqueViolation } from "../../platform/database-errors.ts";
import { writeEntry } from "../../platform/ledger.ts";
import { notFound, ProblemError, refusedByRule } from "../../platform/problem-error.ts";
import { reading } from "../../platform/reading.ts";
import type { Tx } from "../../platform/transaction.ts";
import { findAction, findActions, insertAction, lockAction, updateAction } from "./action-store.ts";
import { lockLot } from "./lot-store.ts";

export async function listCorrectiveActions(
  database: Database,
  query: { cursor?: string | undefined; limit: number; state?: "open" | "done" | undefined },
): Promise<{ rows: CorrectiveAction[]; next: string | null }> {
  const key = query.cursor === undefined ? null : fromCursor(query.cursor, 2).map(String);
  const rows = await findActions(reading(database), {
    done: query.state === undefined ? null : query.state === "done",
    after: key === null ? null : { dueOn: key[0] ?? "", id: key[1] ?? "" },
    limit: query.limit + 1,
  });
  return toPage(rows, query.limit, (row) => [row.dueOn, row.id]);
}

/** Gives a decided lot an action with an owner and a due date. */
export async function addCorrectiveAction(
  tx: Tx,
  lotId: string,
  action: { id: string; kind: CorrectiveAction["kind"]; detail: string; ownerId: string; dueOn: string },
): Promise<CorrectiveAction> {
  const lot = await lockLot(tx, lotId);
  if (lot === null) throw notFound("lot");
  if (!["decided", "approved", "closed"].includes(lot.state)) {
    throw new ProblemError("wrong-state", "Actions follow from a decision: decide the lot first.");
  }
  refuseCorrected(lot.disposition);
  const { id, ...payload } = action;
  const entryId = await writeEntry(tx, {
    action: "correctiveAction.add",
    subjectType: "correctiveAction",
    subjectId: id,
    reason: action.detail,
    payload: { lotId, ...payload },
  });
  try {
    await insertAction(tx, { ...action, lotId }, entryId);
  } catch (error) {
    if (isForeignKeyViolation(error))
      throw refusedByRule("/ownerId", "There is no such person; choose the owner.");
    if (isUniqueViolation(error))
      throw new ProblemError("already-exists", "This action is on record already.");
    throw error;
  }
  return await wholeAction(tx, id);
}

export async function changeCorrectiveAction(
  tx: Tx,
  id: string,
  version: number,
  change: { ownerId: string; dueOn: string; doneOn: string | null; doneNote: string; reason: string },
): Promise<CorrectiveAction> {
  const present = await lockAction(tx, id);
  if (present === null) throw notFound("action");
  const before = await wholeAction(tx, id);
  if (present !== version) {
    throw new ProblemError("stale", "Someone changed this action since you opened it.", { current: before });
  }
  // The group must not close while an action on it opens again.
  const lot = await lockLot(tx, before.lotId);
  if (change.doneOn === null) refuseCorrected(lot?.disposition ?? null);
  const { reason, ...after } = change;
  const entryId = await writeEntry(tx, {
    action: "correctiveAction.change",
    subjectType: "correctiveAction",
    subjectId: id,
    reason,
    payload: {
      before: {
        ownerId: before.owner.id,
        dueOn: before.dueOn,
        doneOn: before.doneOn,
        doneNote: before.doneNote,
      },
      after,
    },
  });
  try {
    await updateAction(tx, id, change, entryId);
  } catch (error) {
    if (isForeignKeyViolation(error))
      throw refusedByRule("/ownerId", "There is no such person; choose the owner.");
    throw error;
  }
  return await wholeAction(tx, id);
}

/** A group that closed with its actions done gets none and opens none again. */
function refuseCorrected(disposition: Lot["disposition"]): void {
  if (disposition !== "corrected") return;
  throw new ProblemError("wrong-state", "This group is closed: its corrective actions are done.");
}

async function wholeAction(tx: Tx, id: string): Promise<CorrectiveAction> {
  const action = await findAction(tx, id);
  if (action === null) throw notFound("action");
  return action;
}
