import { placeWords } from "./place-words.ts";
import { ProblemError } from "./problem-error.ts";
import type { Tx } from "./transaction.ts";

/**
 * Holds somebody who is limited to places to them: what they record happens at one of these places, or to meters that
 * are there. A place holds what lies in it: a shop its store rooms, a store room its shelves.
 *
 * @param what.meterIds meters that it is about, where they are now
 * @param what.placeIds where it happens or leads to, where that is known
 * @throws ProblemError not-permitted, which says where the first meter is and where the person works
 */
export async function refuseElsewhere(
  tx: Tx,
  { meterIds, placeIds = [] }: { meterIds: readonly string[]; placeIds?: readonly (string | null)[] },
): Promise<void> {
  const own = tx.actor?.placeIds ?? [];
  if (own.length === 0) return;
  const named = placeIds.filter((id) => id !== null);
  const [refused] = await tx.query<{ at: string | null; number: string | null; own: string }>(
    `WITH RECURSIVE within AS (
       SELECT id FROM place WHERE id = ANY($1)
       UNION SELECT p.id FROM place p JOIN within w ON p.parent_id = w.id
     ), outside AS (
       SELECT m.utility_number, ${placeWords("p")} AS at FROM meter m JOIN place p ON p.id = m.place_id
       WHERE m.id = ANY($2) AND m.place_id NOT IN (SELECT id FROM within)
       ORDER BY m.utility_number, m.id LIMIT 1
     )
     SELECT o.utility_number AS number, coalesce(o.at, (SELECT ${placeWords("p")} FROM place p WHERE p.id = ($3::uuid[])[1])) AS at,
       (SELECT string_agg(${placeWords("p")}, ', ' ORDER BY p.name) FROM place p WHERE p.id = ANY($1)) AS own
     FROM (SELECT) one LEFT JOIN outside o ON true
     WHERE NOT EXISTS (SELECT FROM within WHERE id = ANY($3))
       AND (o.utility_number IS NOT NULL OR cardinality($2::uuid[]) = 0)`,
    [own, meterIds, named],
  );
  if (refused === undefined) return;
  const where = refused.at ?? "another place";
  throw new ProblemError(
    "not-permitted",
    refused.number === null
      ? `Your account is limited to ${refused.own}, and this is for ${where}. Ask somebody who works there, or an administrator to change your places.`
      : `Your account is limited to ${refused.own}, and meter ${refused.number} is at ${where}. Ask somebody who works there, or an administrator to change your places.`,
  );
}

/** Somebody limited to places runs nothing that reaches meters anywhere, such as an import. */
export function refuseLimited(tx: Tx, what: string): void {
  if ((tx.actor?.placeIds ?? []).length === 0) return;
  throw new ProblemError(
    "not-permitted",
    `Your account is limited to places, and ${what} may reach meters anywhere. Ask somebody without that limit.`,
  );
}
