import type { TestReason, WorkItem } from "@sealbook/contract/work-items";
import { personRef } from "../../platform/person-ref.ts";
import type { Source, Tx } from "../../platform/transaction.ts";

interface WorkItemRow {
  id: string;
  meter_id: string;
  utility_number: string;
  reason: TestReason;
  due_on: string | null;
  note: string;
  opened_at: Date;
  opened_by: string | null;
  opener_name: string | null;
  done_by_test_id: string | null;
  closed_reason: string | null;
  assignee_id: string | null;
  assignee_name: string | null;
  version: number;
}

const select = `SELECT w.id, w.meter_id, m.utility_number, w.reason, w.due_on, w.note, w.opened_at, w.opened_by,
    p.value AS opener_name, w.done_by_test_id, w.closed_reason, w.assignee_id, t.value AS assignee_name, w.version
  FROM work_item w JOIN meter m ON m.id = w.meter_id
  LEFT JOIN account a ON a.id = w.opened_by LEFT JOIN personal_value p ON p.id = a.name_id
  LEFT JOIN account b ON b.id = w.assignee_id LEFT JOIN personal_value t ON t.id = b.name_id`;

function toWorkItem(row: WorkItemRow): WorkItem {
  return {
    id: row.id,
    meterId: row.meter_id,
    utilityNumber: row.utility_number,
    reason: row.reason,
    dueOn: row.due_on,
    note: row.note,
    openedAt: row.opened_at.toISOString(),
    openedBy: personRef(row.opened_by, row.opener_name),
    doneByTestId: row.done_by_test_id,
    assignee: personRef(row.assignee_id, row.assignee_name),
    version: row.version,
  };
}

/** Open work, most urgent first; work without a date comes last, ties by id. */
export async function findOpenWork(
  source: Source,
  filter: { meterId: string | undefined; after: { dueOn: string; id: string } | null; limit: number },
): Promise<WorkItem[]> {
  const rows = await source.query<WorkItemRow>(
    `${select} WHERE w.done_by_test_id IS NULL AND w.closed_reason IS NULL AND ($1::uuid IS NULL OR w.meter_id = $1)
       AND ($2::date IS NULL OR (coalesce(w.due_on, 'infinity'), w.id) > ($2, $3::uuid))
     ORDER BY coalesce(w.due_on, 'infinity'), w.id LIMIT $4`,
    [filter.meterId ?? null, filter.after?.dueOn ?? null, filter.after?.id ?? null, filter.limit],
  );
  return rows.map(toWorkItem);
}

export async function findWorkItem(source: Source, id: string): Promise<WorkItem | null> {
  const [row] = await source.query<WorkItemRow>(`${select} WHERE w.id = $1`, [id]);
  return row === undefined ? null : toWorkItem(row);
}

export async function insertWorkItem(
  tx: Tx,
  item: {
    id: string;
    meterId: string;
    reason: TestReason;
    dueOn: string | null;
    note: string;
    assigneeId: string | null;
  },
  entryId: string,
): Promise<void> {
  await tx.query(
    "INSERT INTO work_item (id, meter_id, reason, due_on, note, assignee_id, entry_id) VALUES ($1, $2, $3, $4, $5, $6, $7)",
    [item.id, item.meterId, item.reason, item.dueOn, item.note, item.assigneeId, entryId],
  );
}

/** A piece of work, locked, and whether it is still open. */
export async function lockWorkItem(tx: Tx, id: string): Promise<{ item: WorkItem; isOpen: boolean } | null> {
  const [row] = await tx.query<WorkItemRow>(`${select} WHERE w.id = $1 FOR UPDATE OF w`, [id]);
  if (row === undefined) return null;
  return { item: toWorkItem(row), isOpen: row.done_by_test_id === null && row.closed_reason === null };
}

export async function updateAssignee(
  tx: Tx,
  id: string,
  assigneeId: string | null,
  entryId: string,
): Promise<void> {
  await tx.query(
    "UPDATE work_item SET assignee_id = $2, entry_id = $3, version = version + 1 WHERE id = $1",
    [id, assigneeId, entryId],
  );
}

export async function insertWorkItems(
  tx: Tx,
  items: readonly {
    id: string;
    meterId: string;
    reason: TestReason;
    dueOn: string | null;
    note: string;
    drawId: string;
  }[],
  entryIds: readonly string[],
): Promise<void> {
  await tx.query(
    `INSERT INTO work_item (id, meter_id, reason, due_on, note, entry_id, draw_id)
     SELECT * FROM unnest($1::uuid[], $2::uuid[], $3::text[], $4::date[], $5::text[], $6::uuid[], $7::uuid[])`,
    [
      items.map(({ id }) => id),
      items.map(({ meterId }) => meterId),
      items.map(({ reason }) => reason),
      items.map(({ dueOn }) => dueOn),
      items.map(({ note }) => note),
      entryIds,
      items.map(({ drawId }) => drawId),
    ],
  );
}

/** Marks open work of a meter as done by a test; says whether there was such work still open. */
export async function finishWork(
  tx: Tx,
  id: string,
  meterId: string,
  testId: string,
  entryId: string,
): Promise<boolean> {
  const rows = await tx.query(
    `UPDATE work_item SET done_by_test_id = $3, entry_id = $4, version = version + 1
     WHERE id = $1 AND meter_id = $2 AND done_by_test_id IS NULL AND closed_reason IS NULL RETURNING id`,
    [id, meterId, testId, entryId],
  );
  return rows.length === 1;
}

/** Locks the open work that draws asked for, by id. */
export async function lockWorkOfDraws(
  tx: Tx,
  drawIds: readonly string[],
): Promise<{ id: string; meter_id: string }[]> {
  return await tx.query(
    `SELECT id, meter_id FROM work_item WHERE draw_id = ANY ($1) AND done_by_test_id IS NULL AND closed_reason IS NULL
     ORDER BY id FOR UPDATE`,
    [drawIds],
  );
}

/** Closes open work without a test, each with its reason and its entry. */
export async function closeWork(
  tx: Tx,
  closings: readonly { id: string; reason: string }[],
  entryIds: readonly string[],
): Promise<void> {
  await tx.query(
    `UPDATE work_item w SET closed_reason = x.reason, entry_id = x.entry_id, version = version + 1
     FROM unnest($1::uuid[], $2::text[], $3::uuid[]) AS x (id, reason, entry_id) WHERE w.id = x.id`,
    [closings.map(({ id }) => id), closings.map(({ reason }) => reason), entryIds],
  );
}

/** Open work of a meter for a reason, the oldest; null where there is none. */
export async function findOpenReason(
  source: Source,
  meterId: string,
  reason: TestReason,
): Promise<{ dueOn: string | null } | null> {
  const [row] = await source.query<{ due_on: string | null }>(
    `SELECT due_on FROM work_item WHERE meter_id = $1 AND reason = $2 AND done_by_test_id IS NULL AND closed_reason IS NULL
     ORDER BY id LIMIT 1`,
    [meterId, reason],
  );
  return row === undefined ? null : { dueOn: row.due_on };
}

/**
 * Which of these pieces of work somebody would still wait for, were they open: of a draw while its lot is undecided and no
 * newer list was published, of others while nobody has asked for the same again.
 */
export async function findAskedStill(tx: Tx, ids: readonly string[]): Promise<Set<string>> {
  const rows = await tx.query<{ id: string }>(
    `SELECT w.id FROM work_item w LEFT JOIN draw d ON d.id = w.draw_id LEFT JOIN draw_list dl ON dl.id = d.list_id
     LEFT JOIN lot l ON l.id = dl.lot_id
     WHERE w.id = ANY ($1) AND CASE WHEN w.draw_id IS NULL THEN NOT EXISTS (SELECT FROM work_item o
         WHERE o.meter_id = w.meter_id AND o.reason = w.reason AND o.id <> w.id AND o.draw_id IS NULL
           AND o.done_by_test_id IS NULL AND o.closed_reason IS NULL)
       ELSE l.state = 'drawn' AND NOT EXISTS (SELECT FROM draw_list n WHERE n.lot_id = l.id AND n.ordinal > dl.ordinal) END`,
    [ids],
  );
  return new Set(rows.map(({ id }) => id));
}

/** Takes the test off work that it no longer answers; an entry for each comes first. With a reason the work is closed. */
export async function reopenWork(
  tx: Tx,
  ids: readonly string[],
  closedReason: string | null,
  entryIds: readonly string[],
): Promise<void> {
  await tx.query(
    `UPDATE work_item w SET done_by_test_id = NULL, closed_reason = $3, entry_id = x.entry_id, version = version + 1
     FROM unnest($1::uuid[], $2::uuid[]) AS x (id, entry_id) WHERE w.id = x.id`,
    [ids, entryIds, closedReason],
  );
}
