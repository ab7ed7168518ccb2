import type { Actor, Source } from "./transaction.ts";

/** The account that a job acts for, with the places that it is limited to; null once it is not active. */
export async function findActor(source: Source, id: string): Promise<Actor | null> {
  const [row] = await source.query<Actor>(
    `SELECT id, role, username, coalesce(place_ids, '{}') AS "placeIds" FROM account WHERE id = $1 AND active`,
    [id],
  );
  return row ?? null;
}
