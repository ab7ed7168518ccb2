import type { Place, PlaceRow } from "@sealbook/contract/places";
import { placeFullName } from "../../platform/place-words.ts";
import type { Source, Tx } from "../../platform/transaction.ts";

interface PlaceTableRow {
  id: string;
  kind: Place["kind"];
  name: string;
  own_name: string;
  parent_id: string | null;
  closed: boolean;
  version: number;
}

const columns = `p.id, p.kind, ${placeFullName("p")} AS name, p.name AS own_name, p.parent_id, p.closed, p.version`;

function toPlaceRow(row: PlaceTableRow): PlaceRow {
  return {
    id: row.id,
    kind: row.kind,
    name: row.name,
    ownName: row.own_name,
    parentId: row.parent_id,
    closed: row.closed,
    version: row.version,
  };
}

/** The utility's own places by their own name, then by id: the partial index place_own serves the order. */
export async function findPlaces(
  source: Source,
  filter: { part: string | undefined; withClosed: boolean; after: [string, string] | null; limit: number },
): Promise<PlaceRow[]> {
  const rows = await source.query<PlaceTableRow>(
    `SELECT ${columns} FROM place p
     WHERE p.kind <> 'service-point' AND ($1::text IS NULL OR ${placeFullName("p")} ILIKE $1) AND ($2 OR NOT p.closed)
       AND ($3::text IS NULL OR (p.name, p.id) > ($3, $4::uuid))
     ORDER BY p.name, p.id LIMIT $5`,
    [
      filter.part === undefined ? null : `%${filter.part.replace(/[\\%_]/g, "\\$&")}%`,
      filter.withClosed,
      filter.after?.[0] ?? null,
      filter.after?.[1] ?? null,
      filter.limit,
    ],
  );
  return rows.map(toPlaceRow);
}

export async function findPlace(source: Source, id: string): Promise<PlaceRow | null> {
  const [row] = await source.query<PlaceTableRow>(`SELECT ${columns} FROM place p WHERE p.id = $1`, [id]);
  return row === undefined ? null : toPlaceRow(row);
}

/**
 * Locks a place, so that what is put there and what closes it come one after the other.
 *
 * @param how "shared" with others who put something there; "alone" to close it, or where one meter alone may be
 */
export async function lockPlaceRow(tx: Tx, id: string, how: "shared" | "alone"): Promise<PlaceRow | null> {
  const [row] = await tx.query<PlaceTableRow>(
    `SELECT ${columns} FROM place p WHERE p.id = $1 FOR ${how === "alone" ? "UPDATE" : "SHARE"} OF p`,
    [id],
  );
  return row === undefined ? null : toPlaceRow(row);
}

/** Meters of each state in a place; the index by place serves it. */
export async function countMetersIn(
  source: Source,
  placeId: string,
): Promise<{ state: string; meters: number }[]> {
  return await source.query(
    "SELECT state, count(*)::int AS meters FROM meter WHERE place_id = $1 GROUP BY state ORDER BY state",
    [placeId],
  );
}

export async function findPlacesWithin(
  source: Source,
  placeId: string,
): Promise<(Place & { meters: number })[]> {
  return await source.query(
    `SELECT p.id, p.kind, p.name, (SELECT count(*)::int FROM meter m WHERE m.place_id = p.id) AS meters
     FROM place p WHERE p.parent_id = $1 AND NOT p.closed ORDER BY p.name, p.id LIMIT 200`,
    [placeId],
  );
}

export interface MeterInPlace {
  id: string;
  utilityNumber: string;
  serial: string;
  type: string;
  state: string;
  held: boolean;
}

/** A place's meters by utility number, then by id, as the index by place has them. */
export async function findMetersIn(
  source: Source,
  placeId: string,
  page: { after: [string, string] | null; limit: number },
): Promise<MeterInPlace[]> {
  return await source.query(
    `SELECT m.id, m.utility_number AS "utilityNumber", m.serial, y.maker || ' ' || y.model AS type, m.state,
       EXISTS (SELECT FROM standing_meter_hold h WHERE h.meter_id = m.id) AS held
     FROM meter m JOIN meter_type y ON y.id = m.type_id
     WHERE m.place_id = $1 AND ($2::text IS NULL OR (m.utility_number, m.id) > ($2, $3::uuid))
     ORDER BY m.utility_number, m.id LIMIT $4`,
    [placeId, page.after?.[0] ?? null, page.after?.[1] ?? null, page.limit],
  );
}

export async function insertPlaces(
  tx: Tx,
  places: readonly (Place & { parentId?: string | null })[],
  entryIds: readonly string[],
): Promise<void> {
  await tx.query(
    `INSERT INTO place (id, kind, name, parent_id, entry_id)
     SELECT * FROM unnest($1::uuid[], $2::text[], $3::text[], $4::uuid[], $5::uuid[])`,
    [
      places.map(({ id }) => id),
      places.map(({ kind }) => kind),
      places.map(({ name }) => name),
      places.map(({ parentId }) => parentId ?? null),
      entryIds,
    ],
  );
}

export async function updatePlace(
  tx: Tx,
  place: { id: string; name: string; closed: boolean },
  entryId: string,
): Promise<void> {
  await tx.query(
    "UPDATE place SET name = $2, closed = $3, version = version + 1, entry_id = $4 WHERE id = $1",
    [place.id, place.name, place.closed, entryId],
  );
}
