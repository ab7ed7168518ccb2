import type { Place, PlaceRow } from "@sealbook/contract/places";
import { fromCursor, toPage } from "../../platform/cursor.ts";
import { isUniqueViolation } from "../../platform/database-errors.ts";
import { writeEntry } from "../../platform/ledger.ts";
import { notFound, ProblemError, refusedByRule } from "../../platform/problem-error.ts";
import type { Source, Tx } from "../../platform/transaction.ts";
import {
  countMetersIn,
  findMetersIn,
  findPlace,
  findPlaces,
  findPlacesWithin,
  insertPlaces,
  lockPlaceRow,
  type MeterInPlace,
  updatePlace,
} from "./store.ts";

export { insertPlaces } from "./store.ts";

export async function listPlaces(
  source: Source,
  query: { cursor?: string | undefined; limit: number; q?: string | undefined; closed: "yes" | "no" },
): Promise<{ rows: PlaceRow[]; next: string | null }> {
  const rows = await findPlaces(source, {
    part: query.q?.trim() || undefined,
    withClosed: query.closed === "yes",
    after: keyIn(query.cursor),
    limit: query.limit + 1,
  });
  return toPage(rows, query.limit, (row) => [row.ownName, row.id]);
}

export async function getPlace(source: Source, id: string) {
  const place = await findPlace(source, id);
  if (place === null) throw notFound("place");
  return {
    ...place,
    meters: await countMetersIn(source, id),
    within: await findPlacesWithin(source, id),
  };
}

export async function listMetersInPlace(
  source: Source,
  id: string,
  query: { cursor?: string | undefined; limit: number },
): Promise<{ rows: MeterInPlace[]; next: string | null }> {
  const rows = await findMetersIn(source, id, {
    after: keyIn(query.cursor),
    limit: query.limit + 1,
  });
  return toPage(rows, query.limit, (row) => [row.utilityNumber, row.id]);
}

function keyIn(cursor: string | undefined): [string, string] | null {
  return cursor === undefined ? null : (fromCursor(cursor, 2).map(String) as [string, string]);
}

export async function placeById(source: Source, id: string): Promise<PlaceRow | null> {
  return await findPlace(source, id);
}

/**
 * A place to which something is brought, or null: it stays open until the transaction ends. At a service point one
 * meter is set at a time.
 */
export async function lockPlace(
  tx: Tx,
  id: string,
  how: "shared" | "alone" = "shared",
): Promise<PlaceRow | null> {
  return await lockPlaceRow(tx, id, how);
}

/** Adds a shop, a store room, a shelf or a van. */
export async function createPlace(tx: Tx, place: Place & { parentId?: string | null }): Promise<PlaceRow> {
  const parentId = place.parentId ?? null;
  await refuseParent(tx, place.kind, parentId);
  const entryId = await writeEntry(tx, {
    action: "place.create",
    subjectType: "place",
    subjectId: place.id,
    payload: { kind: place.kind, name: place.name, ...(parentId === null ? {} : { parentId }) },
  });
  await unlessNameIsTaken(() => insertPlaces(tx, [{ ...place, parentId }], [entryId]));
  const made = await findPlace(tx, place.id);
  if (made === null) throw new Error("a place that was added is there");
  return made;
}

/** A shelf stands in a store, a store may stand in a shop; nothing else stands in anything. */
async function refuseParent(tx: Tx, kind: Place["kind"], parentId: string | null): Promise<void> {
  const wanted = kind === "shelf" ? "store" : kind === "store" ? "shop" : null;
  if (parentId === null) {
    if (kind === "shelf") throw refusedByRule("/parentId", "A shelf stands in a store room; choose which.");
    return;
  }
  if (wanted === null)
    throw refusedByRule("/parentId", "Only a store room or a shelf stands inside a place.");
  const parent = await lockPlaceRow(tx, parentId, "shared");
  if (parent?.kind !== wanted)
    throw refusedByRule(
      "/parentId",
      wanted === "store"
        ? "A shelf stands in a store room; choose one from the list."
        : "A store room stands in a shop; choose one from the list.",
    );
  if (parent.closed) throw refusedByRule("/parentId", `${parent.name} is closed; open it first.`);
}

/** Renames a place, closes it when nothing is in it, or opens it again. */
export async function changePlace(
  tx: Tx,
  id: string,
  version: number,
  change: { name: string; closed: boolean },
): Promise<PlaceRow> {
  const before = await lockPlaceRow(tx, id, "alone");
  if (before === null || before.kind === "service-point") throw notFound("place");
  if (before.version !== version)
    throw new ProblemError("stale", "Someone changed this place since you opened it.", { current: before });
  if (change.closed && !before.closed) {
    const [counts, within] = [await countMetersIn(tx, id), await findPlacesWithin(tx, id)];
    const inside = counts.reduce((sum, { state, meters }) => (isKept(state) ? sum + meters : sum), 0);
    if (inside > 0)
      throw refusedByRule(
        "/closed",
        `${inside} ${inside === 1 ? "meter is" : "meters are"} in ${before.name}; move them elsewhere first.`,
      );
    if (within.length > 0)
      throw refusedByRule("/closed", `${before.name} has places inside it that are open; close them first.`);
  }
  if (!change.closed && before.parentId !== null) await refuseParent(tx, before.kind, before.parentId);
  const entryId = await writeEntry(tx, {
    action: "place.change",
    subjectType: "place",
    subjectId: id,
    payload: {
      before: { name: before.ownName, closed: before.closed },
      after: { name: change.name, closed: change.closed },
    },
  });
  await unlessNameIsTaken(() => updatePlace(tx, { id, ...change }, entryId));
  const after = await findPlace(tx, id);
  if (after === null) throw new Error("a place that was changed is there");
  return after;
}

/** What is disposed of is nowhere any more; its last place may close. */
function isKept(state: string): boolean {
  return state !== "disposed";
}

async function unlessNameIsTaken(work: () => Promise<void>): Promise<void> {
  try {
    await work();
  } catch (error) {
    if (!isUniqueViolation(error, "place_name")) throw error;
    throw new ProblemError("already-exists", "There is a place of this kind and name already.", {
      errors: [{ pointer: "/name", detail: "This name is taken." }],
    });
  }
}
