import type { CorrectiveAction } from "@sealbook/contract/corrective-actions";
import type { LotKind } from "@sealbook/contract/lot-terms";
import { personRef } from "../../platform/person-ref.ts";
import type { Source, Tx } from "../../platform/transaction.ts";
import { nameOf } from "./name-of.ts";

interface ActionRow {
  id: string;
  lot_id: string;
  lot_kind: LotKind;
  lot_number: string;
  lot_title: string;
  kind: CorrectiveAction["kind"];
  detail: string;
  owner_id: string;
  owner_name: string | null;
  due_on: string;
  done_on: string | null;
  done_note: string;
  version: number;
  entry_id: string;
}

const actionSelect = `SELECT c.id, c.lot_id, l.kind AS lot_kind, l.number AS lot_number, l.title AS lot_title, c.kind, c.detail, c.owner_id,
    p.value AS owner_name, c.due_on, c.done_on, c.done_note, c.version, c.entry_id
  FROM corrective_action c JOIN lot l ON l.id = c.lot_id ${nameOf("c.owner_id", "p")}`;

function toAction(row: ActionRow): CorrectiveAction {
  return {
    id: row.id,
    lotId: row.lot_id,
    lotKind: row.lot_kind,
    lotNumber: row.lot_number,
    lotTitle: row.lot_title,
    kind: row.kind,
    detail: row.detail,
    owner: personRef(row.owner_id, row.owner_name),
    dueOn: row.due_on,
    doneOn: row.done_on,
    doneNote: row.done_note,
    version: row.version,
    entryId: row.entry_id,
  };
}

export async function findActionsOfLot(source: Source, lotId: string): Promise<CorrectiveAction[]> {
  const rows = await source.query<ActionRow>(`${actionSelect} WHERE c.lot_id = $1 ORDER BY c.due_on, c.id`, [
    lotId,
  ]);
  return rows.map(toAction);
}

/** Actions by due date, ties by id. */
export async function findActions(
  source: Source,
  filter: { done: boolean | null; after: { dueOn: string; id: string } | null; limit: number },
): Promise<CorrectiveAction[]> {
  const rows = await source.query<ActionRow>(
    `${actionSelect} WHERE ($1::boolean IS NULL OR (c.done_on IS NOT NULL) = $1)
       AND ($2::date IS NULL OR (c.due_on, c.id) > ($2, $3::uuid))
     ORDER BY c.due_on, c.id LIMIT $4`,
    [filter.done, filter.after?.dueOn ?? null, filter.after?.id ?? null, filter.limit],
  );
  return rows.map(toAction);
}

export async function findAction(source: Source, id: string): Promise<CorrectiveAction | null> {
  const [row] = await source.query<ActionRow>(`${actionSelect} WHERE c.id = $1`, [id]);
  return row === undefined ? null : toAction(row);
}

/** Locks an action and says which version it has; null when there is none. */
export async function lockAction(tx: Tx, id: string): Promise<number | null> {
  const [row] = await tx.query<{ version: number }>(
    "SELECT version FROM corrective_action WHERE id = $1 FOR UPDATE",
    [id],
  );
  return row?.version ?? null;
}

export async function insertAction(
  tx: Tx,
  action: { id: string; lotId: string; kind: string; detail: string; ownerId: string; dueOn: string },
  entryId: string,
): Promise<void> {
  await tx.query(
    "INSERT INTO corrective_action (id, lot_id, kind, detail, owner_id, due_on, entry_id) VALUES ($1, $2, $3, $4, $5, $6, $7)",
    [action.id, action.lotId, action.kind, action.detail, action.ownerId, action.dueOn, entryId],
  );
}

export async function updateAction(
  tx: Tx,
  id: string,
  change: { ownerId: string; dueOn: string; doneOn: string | null; doneNote: string },
  entryId: string,
): Promise<void> {
  await tx.query(
    `UPDATE corrective_action SET owner_id = $2, due_on = $3, done_on = $4, done_note = $5, entry_id = $6, version = version + 1
     WHERE id = $1`,
    [id, change.ownerId, change.dueOn, change.doneOn, change.doneNote, entryId],
  );
}
