import { mostSavedViews, type SavedView, type SavedViewBody } from "@sealbook/contract/saved-views";
import type { Database } from "../../platform/database.ts";
import { isUniqueViolation } from "../../platform/database-errors.ts";
import { notFound, ProblemError, refusedByRule } from "../../platform/problem-error.ts";
import { reading } from "../../platform/reading.ts";
import { actorOf, type Tx } from "../../platform/transaction.ts";
import { countOwnViews, deleteView, findViews, insertView, lockOwnView, updateView } from "./store.ts";

const mostShared = 200;

/** A view is somebody's own note of how to look at a list. It is no record, and so the ledger does not hold it. */
export interface ViewFields {
  name: string;
  shared: boolean;
  body: SavedViewBody;
}

export async function listSavedViews(database: Database, personId: string): Promise<{ rows: SavedView[] }> {
  return { rows: await findViews(reading(database), personId, { own: mostSavedViews, shared: mostShared }) };
}

export async function saveView(tx: Tx, view: ViewFields & { id: string }): Promise<SavedView> {
  const personId = actorOf(tx).id;
  if ((await countOwnViews(tx, personId)) >= mostSavedViews) {
    throw refusedByRule("/name", `You keep ${mostSavedViews} views already; remove one that you do not use.`);
  }
  await refuseSameName(view.name, () => insertView(tx, view));
  return await ownView(tx, view.id);
}

export async function changeSavedView(
  tx: Tx,
  id: string,
  version: number,
  change: ViewFields,
): Promise<SavedView> {
  const before = await ownView(tx, id);
  if (before.version !== version) {
    throw new ProblemError("stale", "You changed this view elsewhere since you opened it.", {
      current: before,
    });
  }
  await refuseSameName(change.name, () => updateView(tx, { id, ...change }));
  return await ownView(tx, id);
}

export async function removeSavedView(tx: Tx, id: string): Promise<void> {
  await ownView(tx, id);
  await deleteView(tx, id);
}

async function ownView(tx: Tx, id: string): Promise<SavedView> {
  const view = await lockOwnView(tx, id, actorOf(tx).id);
  if (view === null) throw notFound("view of your own");
  return view;
}

async function refuseSameName(name: string, work: () => Promise<void>): Promise<void> {
  try {
    await work();
  } catch (error) {
    if (!isUniqueViolation(error)) throw error;
    throw new ProblemError("already-exists", `You keep a view called ${name} already.`, {
      errors: [{ pointer: "/name", detail: "You keep a view of this name already." }],
    });
  }
}
