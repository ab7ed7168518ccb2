import { type SavedView, type SavedViewBody, savedViewBodySchema } from "@sealbook/contract/saved-views";
import { erasedText } from "../../platform/personal-values.ts";
import type { Source, Tx } from "../../platform/transaction.ts";

interface ViewRow {
  id: string;
  owner_id: string;
  owner_name: string | null;
  name: string;
  shared: boolean;
  body: string;
  version: number;
}

function toView(row: ViewRow, personId: string): SavedView {
  return {
    id: row.id,
    name: row.name,
    shared: row.shared,
    own: row.owner_id === personId,
    ownerName: row.owner_name ?? erasedText,
    body: savedViewBodySchema.parse(JSON.parse(row.body)),
    version: row.version,
  };
}

const select = `SELECT v.id, v.owner_id, n.value AS owner_name, v.name, v.shared, v.body, v.version
  FROM saved_view v JOIN account a ON a.id = v.owner_id JOIN personal_value n ON n.id = a.name_id`;

/** Somebody's own views, then the shared ones of others, each by name. */
export async function findViews(
  source: Source,
  personId: string,
  limits: { own: number; shared: number },
): Promise<SavedView[]> {
  const rows = await source.query<ViewRow>(
    `(${select} WHERE v.list = 'meters' AND v.owner_id = $1 ORDER BY v.name, v.id LIMIT $2)
     UNION ALL
     (${select} WHERE v.list = 'meters' AND v.owner_id <> $1 AND v.shared ORDER BY v.name, v.id LIMIT $3)`,
    [personId, limits.own, limits.shared],
  );
  return rows.map((row) => toView(row, personId));
}

/** A view of somebody's own, locked; null for one of another person, as if it were not there. */
export async function lockOwnView(tx: Tx, id: string, personId: string): Promise<SavedView | null> {
  const [row] = await tx.query<ViewRow>(`${select} WHERE v.id = $1 AND v.owner_id = $2 FOR UPDATE OF v`, [
    id,
    personId,
  ]);
  return row === undefined ? null : toView(row, personId);
}

export async function countOwnViews(tx: Tx, personId: string): Promise<number> {
  const [row] = await tx.query<{ count: number }>(
    "SELECT count(*)::int AS count FROM saved_view WHERE owner_id = $1",
    [personId],
  );
  return row?.count ?? 0;
}

interface ViewFields {
  id: string;
  name: string;
  shared: boolean;
  body: SavedViewBody;
}

export async function insertView(tx: Tx, view: ViewFields): Promise<void> {
  await tx.query("INSERT INTO saved_view (id, list, name, shared, body) VALUES ($1, 'meters', $2, $3, $4)", [
    view.id,
    view.name,
    view.shared,
    JSON.stringify(view.body),
  ]);
}

export async function updateView(tx: Tx, view: ViewFields): Promise<void> {
  await tx.query(
    "UPDATE saved_view SET name = $2, shared = $3, body = $4, version = version + 1 WHERE id = $1",
    [view.id, view.name, view.shared, JSON.stringify(view.body)],
  );
}

export async function deleteView(tx: Tx, id: string): Promise<void> {
  await tx.query("DELETE FROM saved_view WHERE id = $1", [id]);
}
